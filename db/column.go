package db

import (
	"slices"
	"strings"
	"time"

	"skepwood/analytics/wood"
)

// Env is how a person reads and types: their units, currency and day.
type Env struct {
	Length      wood.Unit
	Temperature string // "F" or "C"
	Distance    string // "mi" or "km"
	Currency    string // ISO 4217
	Zone        *time.Location
	// Now bounds dates: what lies after it has not happened.
	Now time.Time
	// Sheet is set for spreadsheets and history, where values are printed
	// exactly and with their unit, whoever reads them.
	Sheet bool
}

// SheetEnv returns the environment of spreadsheets, history and export: exact
// values in the units that the column's header names.
func SheetEnv(now time.Time) Env {
	return Env{Length: wood.UnitInch, Temperature: "C", Distance: "mi", Currency: "USD", Zone: time.UTC, Now: now, Sheet: true}
}

// Column is one value of an entry: what it is called in a sheet and a form,
// how it is typed, and where it is stored.
type Column[T any] struct {
	// Name is the sheet's header and the form field's name.
	Name string
	// Aliases are other headers people use.
	Aliases []string
	// Label and Help are what a form shows; Example what a fault suggests.
	Label, Help, Example string
	// Required refuses an empty value.
	Required bool
	// SQL is the stored column. Key, for a reference, is the expression that
	// selects the name or code people know the other entry by.
	SQL, Key string
	// Ptr returns the typed value inside the record: *string, *wood.Length,
	// *Ref and so on, as Codec expects.
	Ptr func(*T) any
	// Codec parses and prints the value.
	Codec Codec
	// Hidden columns are stored with the entry but follow from it: no sheet or
	// form shows them and no correction touches them.
	Hidden bool
	// Sealed columns are written once: sheets carry them, but no form offers
	// them and no correction touches them.
	Sealed bool
	// Currency returns the record's currency where Codec is about money.
	Currency func(*T) string
}

// ColumnInfo is a column as documentation and forms need it.
type ColumnInfo struct {
	Name, Label, Help, Example string
	Aliases                    []string
	Required                   bool
	Options                    []Option
	Long                       bool
	Sealed                     bool
	InputMode                  string
}

// Option is one choice of a closed list.
type Option struct{ Value, Label string }

func (c *Column[T]) info() ColumnInfo {
	label := c.Label
	if label == "" {
		label = strings.ToUpper(c.Name[:1]) + strings.ReplaceAll(c.Name[1:], "_", " ")
	}
	out := ColumnInfo{Name: c.Name, Label: label, Help: c.Help, Example: c.Example, Aliases: c.Aliases, Required: c.Required, Sealed: c.Sealed}
	switch codec := c.Codec.(type) {
	case choiceCodec:
		out.Options = codec.options
	case textCodec:
		out.Long = codec.long
	case boolCodec:
		out.Options = []Option{{"no", "no"}, {"yes", "yes"}}
	case numberCodec, optionalNumberCodec, wholeCodec, moneyCodec:
		out.InputMode = "decimal"
	}
	return out
}

// set parses text into rec.
func (c *Column[T]) set(rec *T, text string, env Env) *FieldError {
	typed := strings.TrimSpace(text)
	if typed == "" && c.Required {
		return &FieldError{Field: c.Name, Problem: "is missing", Remedy: "fill it in" + example(c.Example)}
	}
	if c.Currency != nil {
		env.Currency = c.Currency(rec)
	}
	if f := checkText(typed); f != nil {
		f.Field, f.Value = c.Name, clip(strings.ToValidUTF8(typed, "�"))
		return f
	}
	if f := c.Codec.parse(c.Ptr(rec), typed, env); f != nil {
		f.Field, f.Value = c.Name, clip(typed)
		if f.Remedy == "" {
			f.Remedy = "correct it" + example(c.Example)
		}
		return f
	}
	return nil
}

// get prints the value of rec.
func (c *Column[T]) get(rec *T, env Env) string {
	if c.Currency != nil {
		env.Currency = c.Currency(rec)
	}
	return c.Codec.print(c.Ptr(rec), env)
}

// matches reports whether a sheet's header names this column.
func (c *Column[T]) matches(header string) bool {
	h := normalHeader(header)
	return h == c.Name || slices.Contains(c.Aliases, h)
}

// normalHeader folds case and treats spaces and hyphens as underscores.
func normalHeader(h string) string {
	h = strings.TrimPrefix(h, "\ufeff")
	return strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return '_'
		}
		return r
	}, strings.ToLower(strings.TrimSpace(h)))
}

func example(e string) string {
	if e == "" {
		return ""
	}
	return ", for example " + e
}

// maxShown bounds how much of a wrong value a message repeats.
const maxShown = 80

func clip(s string) string {
	runes := []rune(s)
	if len(runes) <= maxShown {
		return s
	}
	return string(runes[:maxShown]) + "…"
}
