package sheet

// Phase is one phase of the operation with what the surgeon typed for it. No
// number of a model stands here.
type Phase struct {
	Phase    string // groove, segment-removal, cortex, washout
	Settings []Setting
}

// Setting is one of them as printed, with its unit.
type Setting struct{ Key, Text string }
