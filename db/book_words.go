package db

import (
	"strings"

	"skepwood/analytics/screen"
)

// bookWords turns the codes in a line of the Book into the words that forms
// show for them; a line without codes is returned as it is.
func bookWords(kind, text string) string {
	code, rest, found := strings.Cut(text, ": ")
	if !found {
		return text
	}
	switch kind {
	case "finding":
		name, value, _ := strings.Cut(rest, " ")
		return code + ": " + screen.Finding{Kind: screen.Kind(name), Value: value}.Label()
	case "defect":
		return code + ": " + optionLabel(defectKinds, rest)
	default:
		return text
	}
}

// optionLabel is what a form shows for a value.
func optionLabel(options []Option, value string) string {
	for _, o := range options {
		if o.Value == value {
			return o.Label
		}
	}
	return value
}
