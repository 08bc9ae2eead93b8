package charts

import (
	"math"
	"strings"
	"unicode"
)

// maxLabel bounds a label in runes; no picture is wide enough for more.
const maxLabel = 200

// clean makes a person's words fit for a picture: one line of characters that
// XML allows, of bounded length.
func clean(s string) string {
	s = strings.ToValidUTF8(s[:min(len(s), 8*maxLabel)], "�")
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), r == 0xfffe, r == 0xffff, !unicode.IsPrint(r):
			return -1
		default:
			return r
		}
	}, s)
	runes := []rune(strings.Join(strings.Fields(s), " "))
	if len(runes) > maxLabel {
		runes = append(runes[:maxLabel-1], '…')
	}
	return string(runes)
}

// maxValue is the largest amount that an axis shows.
const maxValue = 1e12

// drawable reports whether a number can stand on an axis.
func drawable(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.Abs(v) > maxValue {
			return false
		}
	}
	return true
}

// orElse returns s, or other when s is empty.
func orElse(s, other string) string {
	if s = clean(s); s != "" {
		return s
	}
	return other
}
