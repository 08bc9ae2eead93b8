package db

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Codec parses and prints one kind of value. parse leaves the value untouched
// where it returns a fault; an empty text is the kind's zero or missing value.
type Codec interface {
	parse(dst any, text string, env Env) *FieldError
	print(src any, env Env) string
}

// fault is a FieldError whose field and value the column fills in.
func fault(problem, remedy string, args ...any) *FieldError {
	return &FieldError{Problem: fmt.Sprintf(problem, args...), Remedy: remedy}
}

// checkText refuses what no entry may hold, whatever its column: bytes that
// are not text and control characters that PostgreSQL or a terminal would
// trip over.
func checkText(s string) *FieldError {
	if !utf8.ValidString(s) {
		return fault("is not valid UTF-8 text", "save the file or type the value as UTF-8")
	}
	for _, r := range s {
		if r == 0 {
			return fault("holds a null byte", "remove it; the file may not be a text file")
		}
		if unicode.IsControl(r) && r != '\n' && r != '\r' && r != '\t' {
			return fault("holds a control character", "remove it")
		}
	}
	return nil
}

// textCodec is free text of at most max characters in a *string.
type textCodec struct {
	max  int
	long bool
	// name says that two spaces mean one: such text tells entries apart.
	name bool
}

// tidy writes one space where a name has several.
func tidy(text string) string { return strings.Join(strings.Fields(text), " ") }

func (c textCodec) parse(dst any, text string, _ Env) *FieldError {
	if n := utf8.RuneCountInString(text); n > c.max {
		return fault("has %d characters, at most %d fit", "shorten it", n, c.max)
	}
	if !c.long && strings.ContainsAny(text, "\n\r") {
		return fault("runs over several lines", "write it on one line")
	}
	if c.name {
		text = tidy(text)
	}
	*dst.(*string) = strings.ReplaceAll(text, "\r\n", "\n")
	return nil
}

func (textCodec) print(src any, _ Env) string { return *src.(*string) }

// choiceCodec is one word of a closed list in a *string; labels and spaces for
// underscores are understood too.
type choiceCodec struct {
	options  []Option
	fallback string
}

func (c choiceCodec) parse(dst any, text string, _ Env) *FieldError {
	if text == "" {
		*dst.(*string) = c.fallback
		return nil
	}
	word := normalHeader(text)
	for _, o := range c.options {
		if strings.EqualFold(word, o.Value) || strings.EqualFold(text, o.Label) {
			*dst.(*string) = o.Value
			return nil
		}
	}
	names := make([]string, len(c.options))
	for i, o := range c.options {
		names[i] = o.Value
	}
	return fault("is not a known choice", "use one of: "+strings.Join(names, ", "))
}

func (choiceCodec) print(src any, _ Env) string { return *src.(*string) }

// boolCodec is yes or no in a *bool.
type boolCodec struct{}

func (boolCodec) parse(dst any, text string, _ Env) *FieldError {
	switch strings.ToLower(text) {
	case "yes", "y", "true", "1", "x", "on":
		*dst.(*bool) = true
	case "no", "n", "false", "0", "":
		*dst.(*bool) = false
	default:
		return fault("is neither yes nor no", "write yes or no")
	}
	return nil
}

func (boolCodec) print(src any, _ Env) string {
	if *src.(*bool) {
		return "yes"
	}
	return "no"
}

// codeCodec is a crayon code or board code in a *string, in capitals.
type codeCodec struct {
	board bool
}

func (c codeCodec) parse(dst any, text string, _ Env) *FieldError {
	if text == "" {
		*dst.(*string) = ""
		return nil
	}
	code, err := normalCode(text, c.board)
	if err != nil {
		return err
	}
	*dst.(*string) = code
	return nil
}

func (codeCodec) print(src any, _ Env) string { return *src.(*string) }
