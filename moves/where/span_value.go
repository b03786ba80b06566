package where

// The sentences are option values: [Value] says what is asked of them.

// Want says what parts look like.
func (p Parts) Want() string {
	return wantPart + ", or a list of them, or X or Y for the first there is"
}

// Want says what spans look like.
func (s Spans) Want() string { return wantSpan + ", or a list of them" }

// Want says what places look like.
func (p Places) Want() string { return wantPlace + ", or a list of them" }

// Want says what a length looks like.
func (l Length) Want() string { return wantLength }
