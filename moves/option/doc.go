// Package option describes the options of a struct, such as a move's or a rule's, once, by its fields' types and
// tags: [Of] lists them, [Set] gives one its value from text, [ValuesOf] writes them back. A decoder, help, a
// reference and a schema all read that. A value that is not valid is a [Mistake].
//
// A field is an option if it has a tag yaml with its name; doc describes it, required:"true" asks for it, range,
// unit and words say what a plain number, share or word may be. Fields of embedded structs count where they
// stand.
//
// The zero value of a type of option is left out. A type of which zero is a value too, such as [Seed], has a
// field Set beside it; whoever asks whether an option was given asks IsZero. A share is left out where it is 0; if 0 %
// is a value of it, its field has a tag zero:"0%", and it is left out where it is under 0.
package option
