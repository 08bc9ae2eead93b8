package screen

import "time"

// Kind names what sort of thing was observed; Kinds lists them all.
type Kind string

// Places a finding can be recorded on. Anything else in Finding.On is the code
// of one board.
const (
	OnLot   = "lot"
	OnBoard = "board"
)

// Finding is one observed fact about a lot or a board.
type Finding struct {
	// ID names the finding in the book; a misreading points to it. Optional.
	ID string `json:"id,omitempty"`
	// Kind is one of Kinds.
	Kind Kind `json:"kind"`
	// Value is one of the kind's values, a number, or text read off the wood.
	Value string `json:"value"`
	// On is "lot" (or empty) for the whole unit, "board" or a board's code else.
	On string `json:"on"`
	// Note is free text: who said so, where on the wood, why misread.
	Note string `json:"note,omitempty"`
	// At is when it was seen; the zero time means not known.
	At time.Time `json:"at,omitzero"`
	// Struck is true when the book has struck the entry through with a reason.
	// A struck finding is kept by the book and ignored by Judge.
	Struck bool `json:"struck,omitempty"`
}

// OfLot reports whether the finding is about the whole unit.
func (f Finding) OfLot() bool { return f.On == "" || f.On == OnLot }

// Bounds on what a person may type, in bytes. Judge still answers (with a hold)
// for longer text; Validate refuses it.
const (
	MaxValueBytes = 4096
	MaxNoteBytes  = 10_000
)
