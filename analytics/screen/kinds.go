package screen

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

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
	// Read says how free text is read: "mark" by package mark, "reference" as the
	// name of another finding, empty not at all.
	Read string `json:"read,omitempty"`
	// Number is true when Value is a number, in Unit; Bands give its facts.
	Number bool   `json:"number,omitempty"`
	Unit   string `json:"unit,omitempty"`
	Bands  []Band `json:"bands,omitempty"`
	// NoteLabel, when not empty, says what the note must hold. Without a note of
	// at least two letters or digits a form refuses the finding, and Judge lets it
	// clear nothing.
	NoteLabel string `json:"note_label,omitempty"`
	// Prefix is true when "pine_scots" counts as "pine".
	Prefix bool `json:"prefix,omitempty"`
	// Dated is true for deeds and tests: they answer only what was seen on the
	// same day or before.
	Dated bool `json:"dated,omitempty"`
	// Reach is "piece" when a finding on the lot answers nothing on its boards,
	// because only one piece was looked at; empty when it covers the unit.
	Reach string `json:"reach,omitempty"`
}

// ValueInfo describes one value of a kind.
type ValueInfo struct {
	Value string `json:"value"`
	Label string `json:"label"`
	Hint  string `json:"hint,omitempty"`
	// NoteLabel is as in KindInfo, for this value alone.
	NoteLabel string `json:"note_label,omitempty"`
	// Own is true for a value of a kind read as text that stands for itself.
	Own bool `json:"own,omitempty"`
	// Facts are what the value yields beside "kind=value".
	Facts []string `json:"facts,omitempty"`
}

// Band gives the facts of a number up to and including UpTo.
type Band struct {
	UpTo  float64  `json:"upto"`
	Facts []string `json:"facts"`
}

// KindMisreading is the kind of finding that says another one was misread. Its
// value is the other's id or kind=value.
const KindMisreading = "misreading"

// Kinds that the code itself must know; all others exist in the table only.
const (
	kindMisreading   Kind = KindMisreading
	kindDisagreement Kind = "disagreement"
)

// Kinds returns every kind of finding a person can record, in the order forms
// show them. The slices inside are shared: do not change them.
func Kinds() []KindInfo { return slices.Clone(tables().kinds) }

// KindByName returns the description of a kind and whether there is one.
func KindByName(kind Kind) (KindInfo, bool) {
	k, ok := tables().kindByName[kind]
	if !ok {
		return KindInfo{}, false
	}
	return *k.info, true
}

// Label returns what a person calls the finding, such as "Smell: Tar". Text
// that is not in the table is shown as it is, clipped.
func (f Finding) Label() string {
	k, ok := tables().kindByName[f.Kind]
	if !ok {
		return clip(string(f.Kind)) + ": " + clip(f.Value)
	}
	if v, ok := k.value(f.Value); ok {
		return k.info.Label + ": " + v.info.Label
	}
	if k.info.Number {
		return k.info.Label + ": " + clip(f.Value) + " " + k.info.Unit
	}
	return k.info.Label + ": " + clip(f.Value)
}

// Validate says whether a form may take the finding as it is. The error is a
// *FindingError that wraps ErrUnknownKind, ErrUnknownValue, ErrOutOfRange,
// ErrMissing, ErrSaysNothing, ErrTooLong, or what CheckPlace returns. Judge needs
// no validated findings; it holds what it cannot read.
func Validate(f Finding) error {
	k, ok := tables().kindByName[f.Kind]
	switch {
	case !ok:
		return &FindingError{"kind", f.Kind, clip(string(f.Kind)), ErrUnknownKind, "choose one of the listed kinds"}
	case len(f.Value) > MaxValueBytes:
		return &FindingError{"value", f.Kind, clip(f.Value), ErrTooLong, fmt.Sprintf("write at most %d bytes", MaxValueBytes)}
	case len(f.Note) > MaxNoteBytes:
		return &FindingError{"note", f.Kind, clip(f.Note), ErrTooLong, fmt.Sprintf("write at most %d bytes", MaxNoteBytes)}
	case blank(f.Value):
		return &FindingError{"value", f.Kind, "", ErrMissing, k.valueHelp()}
	}
	v, known := k.value(f.Value)
	switch {
	case k.info.Number:
		if err := k.checkNumber(f); err != nil {
			return err
		}
	case !known && !k.info.FreeText:
		return &FindingError{"value", f.Kind, clip(f.Value), ErrUnknownValue, k.valueHelp()}
	}
	if label := k.noteLabel(v); label != "" && !says(f.Note) {
		if blank(f.Note) {
			return &FindingError{"note", f.Kind, "", ErrMissing, "write " + label}
		}
		return &FindingError{"note", f.Kind, clip(f.Note), ErrSaysNothing, fmt.Sprintf("write %s, in at least %d letters or digits", label, wantedInNote)}
	}
	return CheckPlace(f.On)
}

// checkNumber tells a number out of bounds from text that is no number.
func (k *kindTable) checkNumber(f Finding) error {
	if _, ok := k.band(f.Value); ok {
		return nil
	}
	text := strings.Trim(strings.TrimSuffix(strings.Trim(f.Value, space), "%"), space)
	number, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err == nil && (number < 0 || number > k.most()) {
		return &FindingError{"value", f.Kind, clip(f.Value), ErrOutOfRange, k.numberHelp()}
	}
	return &FindingError{"value", f.Kind, clip(f.Value), ErrNoNumber, k.numberHelp()}
}

// most is the largest number the kind takes; the least is 0.
func (k *kindTable) most() float64 { return k.info.Bands[len(k.info.Bands)-1].UpTo }

// numberLabel names the number: "moisture".
func (k *kindTable) numberLabel() string { return strings.ToLower(k.info.Label) }

// numberHelp says the bounds of a number and how to write it.
func (k *kindTable) numberHelp() string {
	return fmt.Sprintf("write a number from 0 to %v %s, such as 14.5, with at most three decimals", k.most(), k.info.Unit)
}

// valueHelp says what to write as the value.
func (k *kindTable) valueHelp() string {
	switch {
	case k.info.Number:
		return k.numberHelp()
	case k.info.FreeText && k.info.Hint != "":
		return "write it as found: " + strings.TrimSuffix(k.info.Hint, ".")
	case k.info.FreeText:
		return "write it as found"
	default:
		return "choose one of: " + k.valueList()
	}
}

// valueList names up to a dozen values for a message.
func (k *kindTable) valueList() string {
	const most = 12
	var names []string
	for i, v := range k.info.Values {
		if i == most {
			names = append(names, "…")
			break
		}
		names = append(names, v.Value)
	}
	return strings.Join(names, ", ")
}
