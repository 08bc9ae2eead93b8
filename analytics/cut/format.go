package cut

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
)

// Case is one instance of a file, with its own text for writing it back.
// Linear marks one-dimensional stock, whose boards are told apart by number
// only.
type Case struct {
	Instance Instance
	Raw      json.RawMessage
	Linear   bool
}

// ParseCases reads instance files: a bare instance, {"instance": …}, or lists
// under "cases" or "instances". Instances are those of the cutting format
// (boards and parts), one plate ("board", defects as [x, y, dx, dy], copies
// unlimited where max is null) or one-dimensional stock ("stock_length",
// "demand" as [length, copies]). Unknown fields are ignored. many reports
// whether the file was a list. Errors match ErrInstance and say where.
func ParseCases(data []byte) (cases []Case, many bool, err error) {
	var file struct {
		Cases, Instances *[]json.RawMessage
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff")) // some editors write it before the text
	if err := decode(data, "file", &file); err != nil {
		return nil, false, err
	}
	list, name := file.Cases, "cases"
	if list == nil {
		list, name = file.Instances, "instances"
	}
	if list == nil {
		c, err := parseCase(data, "instance")
		return []Case{c}, false, err
	}
	for i, raw := range *list {
		c, err := parseCase(raw, fmt.Sprintf("%s[%d]", name, i))
		if err != nil {
			return nil, true, err
		}
		cases = append(cases, c)
	}
	return cases, true, nil
}

// parseCase reads an instance or an object that holds one.
func parseCase(raw json.RawMessage, where string) (Case, error) {
	var wrap struct{ Instance json.RawMessage }
	if err := decode(raw, where, &wrap); err != nil {
		return Case{}, err
	}
	if wrap.Instance != nil {
		raw, where = wrap.Instance, where+".instance"
	}
	var f instanceJSON
	if err := decode(raw, where, &f); err != nil {
		return Case{}, err
	}
	in, err := f.instance()
	if err == nil {
		err = in.Validate()
	}
	var bad *InstanceError
	if errors.As(err, &bad) {
		return Case{}, &InstanceError{where + "." + bad.Where, bad.What}
	}
	return Case{in, raw, f.linear()}, err
}

// decode reads one JSON value into v and turns faults into InstanceErrors with
// the field they are at, and the line counted from where that value begins.
func decode(data []byte, where string, v any) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	err := dec.Decode(v)
	if err == nil {
		if _, err := dec.Token(); err != io.EOF {
			return &InstanceError{where, "more follows after the first JSON value"}
		}
		return nil
	}
	of := " of it"
	if where == "file" {
		of = ""
	}
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		return &InstanceError{where, fmt.Sprintf("line %d%s: %v", line(data, syntax.Offset), of, err)}
	case errors.As(err, &kind):
		at := where
		if kind.Field != "" {
			at += "." + strings.ToLower(kind.Field)
		}
		return &InstanceError{at, fmt.Sprintf("line %d%s: is %s; give %s", line(data, kind.Offset), of, jsonKind(kind.Value), wantedKind(kind.Type))}
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return &InstanceError{where, "the file ends too early"}
	}
	return &InstanceError{where, err.Error()}
}

// jsonKind puts an article before what encoding/json says of a value, such as
// "string" or "number 1.5".
func jsonKind(value string) string {
	if value == "array" || value == "object" {
		return "an " + value
	}
	return "a " + value
}

// wantedKind says in words what a value of the type is written as.
func wantedKind(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Int:
		return "a whole number of usual size"
	case reflect.String:
		return "a text in quotes"
	case reflect.Slice:
		return "a list in [ ]"
	default:
		return "an object in { }"
	}
}

// line counts the line on which an offset lies.
func line(data []byte, offset int64) int {
	return 1 + bytes.Count(data[:min(int(offset), len(data))], []byte("\n"))
}

// instanceJSON is an instance in any of the three forms.
type instanceJSON struct {
	ID        string
	Pattern   Pattern
	Objective Objective
	Kerf      int
	Boards    []boardJSON
	Parts     []partJSON

	Board   *boardJSON
	Defects [][]int

	StockLength int     `json:"stock_length"`
	Demand      [][]int `json:"demand"`
}

type boardJSON struct {
	ID            *int
	Length, Width int
	Cost          int
	Count         int
	Defects       []struct {
		X, Y, DX, DY int
		Face         Face
	}
}

type partJSON struct {
	ID            *int
	Length, Width int
	Value         int
	Min           int
	Max           *int
	Faces         int
}

// instance turns the file's form into an Instance.
func (f instanceJSON) instance() (Instance, error) {
	in := Instance{ID: f.ID, Pattern: f.Pattern, Objective: f.Objective, Kerf: Kerf{f.Kerf, f.Kerf}}
	if f.linear() {
		return f.stock(in)
	}
	boards := f.Boards
	if f.Board != nil {
		if boards != nil {
			return in, &InstanceError{"board", "give board or boards, not both"}
		}
		boards = []boardJSON{*f.Board}
	}
	if boards == nil {
		return in, &InstanceError{"boards", "missing: an instance has boards, board or stock_length"}
	}
	if in.Objective == "" {
		in.Objective = MaxValue
	}
	for i, b := range boards {
		in.Boards = append(in.Boards, b.board(i))
	}
	for i, d := range f.Defects {
		if len(d) != 4 || f.Board == nil {
			return in, &InstanceError{fmt.Sprintf("defects[%d]", i), "a plate's defect is [x, y, dx, dy]"}
		}
		in.Boards[0].Defects = append(in.Boards[0].Defects, Defect{d[0], d[1], d[2], d[3], Both})
	}
	for i, p := range f.Parts {
		part := Part{ID: i, Length: p.Length, Width: p.Width, Value: p.Value, Min: p.Min, Max: Unlimited, Faces: p.Faces}
		if p.ID != nil {
			part.ID = *p.ID
		}
		if p.Max != nil {
			part.Max = *p.Max
		}
		in.Parts = append(in.Parts, part)
	}
	return in, nil
}

func (b boardJSON) board(index int) Board {
	out := Board{ID: index, Length: b.Length, Width: b.Width, Cost: b.Cost, Count: b.Count}
	if b.ID != nil {
		out.ID = *b.ID
	}
	for _, d := range b.Defects {
		out.Defects = append(out.Defects, Defect{d.X, d.Y, d.DX, d.DY, d.Face})
	}
	return out
}

// linear reports whether the file gives one-dimensional stock.
func (f instanceJSON) linear() bool { return f.StockLength != 0 || f.Demand != nil }

// stock reads one-dimensional stock as boards one tick wide, each costing 1.
func (f instanceJSON) stock(in Instance) (Instance, error) {
	if in.Pattern != "" && in.Pattern != "one_dimensional" {
		return in, &InstanceError{"pattern", fmt.Sprintf("%q with stock_length: leave it out", in.Pattern)}
	}
	in.Pattern, in.Objective = Rip2, MinBoardCost
	in.Boards = []Board{{Length: f.StockLength, Width: 1, Cost: 1, Count: Unlimited}}
	for i, d := range f.Demand {
		if len(d) != 2 {
			return in, &InstanceError{fmt.Sprintf("demand[%d]", i), "a demand is [length, copies]"}
		}
		in.Parts = append(in.Parts, Part{ID: i, Length: d[0], Width: 1, Max: d[1]})
	}
	return in, nil
}
