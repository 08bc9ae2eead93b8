package screen

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// ListError says where a list of findings cannot be read, what is wrong there and
// what to do. It unwraps to ErrBadList and, where a place is at fault, to what
// CheckPlace returned.
type ListError struct {
	// Finding counts from 1; 0 when the fault is in the list itself.
	Finding int
	// Line and Column count from 1; the column counts bytes.
	Line, Column int
	// Problem says what is wrong, and Help what to do.
	Problem, Help string
	cause         error
}

// Error returns place, fault and advice in one line.
func (e *ListError) Error() string {
	at := fmt.Sprintf("line %d, column %d: %s: %s", e.Line, e.Column, e.Problem, e.Help)
	if e.Finding > 0 {
		return fmt.Sprintf("finding %d: %s", e.Finding, at)
	}
	return at
}

// Unwrap returns ErrBadList and the fault below, if any.
func (e *ListError) Unwrap() []error {
	if e.cause == nil {
		return []error{ErrBadList}
	}
	return []error{ErrBadList, e.cause}
}

// findingFields are the fields of a finding, in the order a person writes them.
var findingFields = []string{"kind", "value", "on", "note", "at", "id", "struck"}

// ParseFindings reads a JSON list of findings as people write it: field names in
// any case, "at" as a day (2026-03-14, its start in UTC) or as a moment with its
// zone (RFC 3339). Kinds and values are not checked, since Judge answers for
// unknown ones; places are (CheckPlace). The error is a *ListError.
func ParseFindings(text []byte) ([]Finding, error) {
	// Some editors put a byte-order mark in front.
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	l := &listReader{text: text, d: json.NewDecoder(bytes.NewReader(text))}
	if err := l.whole(); err != nil {
		return nil, err
	}
	// The text as a whole is JSON, so that no token below can fail.
	if open, _ := l.d.Token(); open != json.Delim('[') {
		return nil, l.fault(0, "the text is no list", `write the findings in [ ], a list of findings such as [{"kind": "odour", "value": "fresh"}]`)
	}
	list := []Finding{}
	for l.d.More() {
		l.number++
		f, err := l.finding()
		if err != nil {
			return nil, err
		}
		list = append(list, f)
	}
	return list, nil
}

// listReader walks through the text.
type listReader struct {
	text   []byte
	d      *json.Decoder
	number int // of the finding being read
}

// fault is an error at a byte of the text.
func (l *listReader) fault(at int64, problem, help string) *ListError {
	before := l.text[:min(max(at, 0), int64(len(l.text)))]
	return &ListError{
		Finding: l.number, Line: bytes.Count(before, []byte{'\n'}) + 1,
		Column: len(before) - bytes.LastIndexByte(before, '\n'), Problem: problem, Help: help,
	}
}

// whole checks that the text is one piece of JSON and nothing more.
func (l *listReader) whole() error {
	var all json.RawMessage
	err := json.Unmarshal(l.text, &all)
	if err == nil {
		return nil
	}
	first := json.NewDecoder(bytes.NewReader(l.text))
	alone := first.Decode(&all)
	switch {
	case alone == nil:
		return l.fault(first.InputOffset(), "something follows the list", "put everything into one list, or take the rest away")
	case errors.Is(alone, io.EOF):
		return l.fault(0, "there is nothing to read", "write a list of findings in [ ]")
	}
	var syntax *json.SyntaxError
	if errors.Is(alone, io.ErrUnexpectedEOF) || !errors.As(err, &syntax) {
		return l.fault(int64(len(l.text)), "the text ends too early", `close every ", } and ]`)
	}
	at := max(syntax.Offset-1, 0)
	odd, _ := utf8.DecodeRune(l.text[at:])
	name := "“" + string(odd) + "”"
	if odd < ' ' {
		name = "a line break or another control character"
	}
	return l.fault(at, name+" does not belong here", "look for a missing comma, colon, quote or bracket just before it")
}

// finding reads one finding.
func (l *listReader) finding() (Finding, error) {
	var f Finding
	start := l.next()
	if l.text[start] != '{' {
		return f, l.fault(start, "a finding cannot be "+wordFor(l.text[start]), `write it as {"kind": "odour", "value": "fresh"}`)
	}
	_, _ = l.d.Token()
	seen := map[string]bool{}
	for l.d.More() {
		at := l.next()
		key, _ := l.d.Token()
		name := strings.ToLower(key.(string)) // in JSON a key is text
		switch {
		case !slices.Contains(findingFields, name):
			return f, l.fault(at, fmt.Sprintf("there is no field %q", clip(key.(string))), "the fields are "+strings.Join(findingFields, ", "))
		case seen[name]:
			return f, l.fault(at, fmt.Sprintf("%q is there twice", name), "keep one of them")
		}
		seen[name] = true
		if err := l.field(&f, name); err != nil {
			return f, err
		}
	}
	_, _ = l.d.Token()
	return f, nil
}

// next is where the next token starts.
func (l *listReader) next() int64 {
	at := l.d.InputOffset()
	for at < int64(len(l.text))-1 && strings.IndexByte(space+",:", l.text[at]) >= 0 {
		at++
	}
	return at
}

// field reads the value of one field into the finding. A null is as good as the
// field left out.
func (l *listReader) field(f *Finding, name string) error {
	at := l.next()
	var raw json.RawMessage
	_ = l.d.Decode(&raw)
	if string(raw) == "null" {
		return nil
	}
	if name == "struck" {
		if json.Unmarshal(raw, &f.Struck) != nil {
			return l.fault(at, `"struck" is `+wordFor(raw[0]), "write true or false, without quotes")
		}
		return nil
	}
	var text string
	if json.Unmarshal(raw, &text) != nil {
		return l.fault(at, fmt.Sprintf("%q is %s", name, wordFor(raw[0])), fmt.Sprintf(`write text in quotes, such as %q`, exampleOf(name, raw)))
	}
	switch name {
	case "kind":
		f.Kind = Kind(text)
	case "value":
		f.Value = text
	case "note":
		f.Note = text
	case "id":
		f.ID = text
	case "on":
		return l.place(f, text, at)
	case "at":
		return l.day(f, text, at)
	}
	return nil
}

// place reads "on"; the lot may be written in any case.
func (l *listReader) place(f *Finding, text string, at int64) error {
	var wrong *FindingError
	if errors.As(CheckPlace(text), &wrong) {
		e := l.fault(at, fmt.Sprintf(`"on" %q %v`, wrong.Value, wrong.Err), wrong.Help)
		e.cause = wrong
		return e
	}
	f.On = strings.Trim(text, space)
	if name := strings.ToLower(f.On); name == OnLot || name == OnBoard {
		f.On = name
	}
	return nil
}

// day reads "at".
func (l *listReader) day(f *Finding, text string, at int64) error {
	text = strings.Trim(text, space)
	for _, layout := range []string{time.RFC3339, time.DateOnly} {
		if t, err := time.Parse(layout, text); err == nil {
			f.At = t
			return nil
		}
	}
	return l.fault(at, fmt.Sprintf(`"at" %q is no day or moment`, clip(text)), "write a day such as 2026-03-14, or a moment with its zone such as 2026-03-14T16:30:00Z")
}

// wordFor names a JSON value by its first character.
func wordFor(first byte) string {
	switch first {
	case '"':
		return "text"
	case '{':
		return "an object in { }"
	case '[':
		return "a list in [ ]"
	case 't', 'f':
		return "true or false"
	case 'n':
		return "null"
	default:
		return "a number"
	}
}

// exampleOf is what a person could write instead of a value that is no text.
func exampleOf(name string, raw json.RawMessage) string {
	switch {
	case name == "at":
		return "2026-03-14"
	case name == "on":
		return OnLot
	case name == "kind":
		return "odour"
	case raw[0] == '{' || raw[0] == '[':
		return "fresh"
	}
	return clip(string(raw))
}
