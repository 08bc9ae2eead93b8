package screen

// KindInfo describes one kind of finding for forms, imports and help.
type KindInfo struct {
	Kind  Kind   `json:"kind"`
	Label string `json:"label"`
	// Hint says where to look or what to ask.
	Hint string `json:"hint,omitempty"`
	// Sense is what tells it: "eyes", "nose", "business", "paper" or "test".
	Sense  string      `json:"sense"`
	Values []ValueInfo `json:"values,omitempty"`
	// FreeText is true when Value is text as read off the wood; Values are then
	// suggestions only.
	FreeText bool `json:"free_text,omitempty"`
	// Number is true when Value is a number, in Unit.
	Number bool   `json:"number,omitempty"`
	Unit   string `json:"unit,omitempty"`
	// NoteLabel, when not empty, says what the note must hold; without a note the
	// finding is not taken.
	NoteLabel string `json:"note_label,omitempty"`
}

// ValueInfo describes one value of a kind.
type ValueInfo struct {
	Value string `json:"value"`
	Label string `json:"label"`
	Hint  string `json:"hint,omitempty"`
	// NoteLabel is as in KindInfo, for this value alone.
	NoteLabel string `json:"note_label,omitempty"`
}
