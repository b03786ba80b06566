package form_test

import (
	"fmt"

	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// A drop that is to be nearly full, after a break that rises. 10 dB less is half as loud.
func ExampleAsked() {
	full := form.Held
	asked := []form.Asked{
		{Bar: 1, Text: "rising", Units: []form.AskedUnit{{First: 1, Last: 4}, {First: 5, Last: 8}}},
		{Bar: 9, Text: "-10 dB..0 dB", Units: []form.AskedUnit{{First: 9, Last: 16, Low: full.Times(-100), High: full}}},
	}
	for _, sec := range []song.Section{{Name: "break", Bar: 1, Bars: 8}, {Name: "drop", Bar: 9, Bars: 8}, {Name: "outro", Bar: 17, Bars: 8}} {
		a, ok := form.AskedOf(asked, sec)
		fmt.Println(sec.Name, ok, a.Words(full))
	}
	// Output:
	// break true [rising rising]
	// drop true [50-100%]
	// outro false []
}
