package screen

import (
	"strconv"
	"strings"
	"unicode"
)

// space is the white space of the rule document: ASCII only, so that a script in
// another language agrees on every character.
const space = " \t\r\n"

// blank reports whether text has nothing but ASCII white space.
func blank(text string) bool { return strings.Trim(text, space) == "" }

// wantedInNote is how many letters or digits a note must have to say something:
// two, so that initials or a name of two signs count and a stop or dash does not.
const wantedInNote = 2

// says reports whether a note says something. Nothing more can be asked of free
// text; what it says is for people to weigh.
func says(note string) bool {
	n := 0
	for _, r := range note {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			if n++; n == wantedInNote {
				return true
			}
		}
	}
	return false
}

// normalise gives the form in which choices are compared: trimmed, ASCII
// letters in lower case, each run of white space and hyphens one underscore.
func normalise(text string) string {
	text = strings.Trim(text, space)
	if plain(text) {
		return text
	}
	var b strings.Builder
	b.Grow(len(text))
	gap := false
	for i := range len(text) {
		c := text[i]
		if c == '-' || strings.IndexByte(space, c) >= 0 {
			gap = true
			continue
		}
		if gap {
			b.WriteByte('_')
			gap = false
		}
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		b.WriteByte(c)
	}
	if gap {
		b.WriteByte('_')
	}
	return b.String()
}

// plain reports whether normalise would return text unchanged; nearly all text
// comes from forms, and this spares it the copy.
func plain(text string) bool {
	for i := range len(text) {
		c := text[i]
		if 'A' <= c && c <= 'Z' || c == '-' || strings.IndexByte(space, c) >= 0 {
			return false
		}
	}
	return true
}

// longestChoice bounds the text looked up as a choice; no value comes near it.
const longestChoice = 64

// value finds a listed value, or by prefix where the kind allows it.
func (k *kindTable) value(text string) (*valueTable, bool) {
	if len(text) > longestChoice {
		return nil, false
	}
	name := normalise(text)
	if v, ok := k.values[name]; ok {
		return v, true
	}
	for k.info.Prefix {
		cut := strings.LastIndexByte(name, '_')
		if cut <= 0 {
			break
		}
		name = name[:cut]
		if v, ok := k.values[name]; ok {
			return v, true
		}
	}
	return nil, false
}

// noteLabel says what the note must hold, for the kind or the value.
func (k *kindTable) noteLabel(v *valueTable) string {
	if v != nil && v.info.NoteLabel != "" {
		return v.info.NoteLabel
	}
	return k.info.NoteLabel
}

// band gives the facts of a number.
func (k *kindTable) band(text string) ([]factID, bool) {
	number, ok := parseNumber(text)
	if !ok {
		return nil, false
	}
	for i, b := range k.info.Bands {
		if number <= b.UpTo {
			return k.bands[i], true
		}
	}
	return nil, false
}

// parseNumber reads up to three digits, a point or comma and up to three more,
// and an optional percent sign; nothing else. Exponents, signs and words that a
// general parser takes would let "1e1" or "NaN" through as a reading.
func parseNumber(text string) (float64, bool) {
	text = strings.Trim(text, space)
	text = strings.Trim(strings.TrimSuffix(text, "%"), space)
	whole, part, split := strings.Cut(text, ".")
	if !split {
		whole, part, split = strings.Cut(text, ",")
	}
	if !digits(whole) || split && !digits(part) {
		return 0, false
	}
	number, err := strconv.ParseFloat(whole+"."+part, 64)
	return number, err == nil
}

// digits reports whether text is one to three ASCII digits.
func digits(text string) bool {
	if len(text) < 1 || len(text) > 3 {
		return false
	}
	for i := range len(text) {
		if text[i] < '0' || text[i] > '9' {
			return false
		}
	}
	return true
}
