package db

import (
	"context"
	"strings"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

// OwnPart is a part of the keeper's own, at its finished size, beside the
// house's list; parts whose kit has the same name make one kit.
type OwnPart struct {
	Base
	Kit, Part                string
	Count                    int
	Thickness, Width, Length wood.Length
	Zone                     string
	Faces                    int
	Glue                     bool
	Note                     string
}

var zones = []Option{{"inside", "inside (bees or honey touch it)"}, {"outside", "outside"}}

// OwnParts is the kind of entry that holds the keeper's own parts.
var OwnParts = &Entity[OwnPart]{
	table: "part",
	base:  func(p *OwnPart) *Base { return &p.Base },
	columns: []Column[OwnPart]{
		{Name: "kit", Required: true, Example: "our nuc box", Help: "Parts with the same kit are chosen together.", SQL: "kit", Ptr: func(p *OwnPart) any { return &p.Kit }, Codec: textCodec{max: 100}},
		{Name: "part", Aliases: []string{"name"}, Required: true, Example: "side", SQL: "name", Ptr: func(p *OwnPart) any { return &p.Part }, Codec: textCodec{max: 100}},
		{Name: "count", Label: "How many a kit needs", Example: "2", SQL: "count", Ptr: func(p *OwnPart) any { return &p.Count }, Codec: wholeCodec{1, 500, 1}},
		{Name: "thickness", Label: "Finished thickness", Required: true, Example: "3/4 in", SQL: "thickness_nm", Ptr: func(p *OwnPart) any { return &p.Thickness }, Codec: lengthCodec{}},
		{Name: "width", Label: "Finished width", Required: true, Example: "3 1/2 in", SQL: "width_nm", Ptr: func(p *OwnPart) any { return &p.Width }, Codec: lengthCodec{}},
		{Name: "length", Label: "Finished length", Required: true, Example: "19 7/8 in", Help: "Along the grain.", SQL: "length_nm", Ptr: func(p *OwnPart) any { return &p.Length }, Codec: lengthCodec{}},
		{Name: "zone", Required: true, Example: "outside", SQL: "zone", Ptr: func(p *OwnPart) any { return &p.Zone }, Codec: choiceCodec{zones, ""}},
		{Name: "faces", Label: "Clear faces", Help: "0, 1 or 2 faces that must show no defect.", SQL: "faces", Ptr: func(p *OwnPart) any { return &p.Faces }, Codec: wholeCodec{0, 2, 0}},
		{Name: "glue", Label: "May be glued up from strips", SQL: "glue", Ptr: func(p *OwnPart) any { return &p.Glue }, Codec: boolCodec{}},
		{Name: "note", Aliases: []string{"notes", "comments"}, SQL: "note", Ptr: func(p *OwnPart) any { return &p.Note }, Codec: textCodec{max: 10000, long: true}},
	},
	check: func(p *OwnPart, env Env) FieldErrors {
		// Under a name of the house's it would stand for the whole kit.
		for _, k := range grade.Kits() {
			if strings.EqualFold(k.Name, strings.TrimSpace(p.Kit)) {
				return FieldErrors{{Field: "kit", Value: clip(p.Kit), Problem: "is a kit of the house's list", Remedy: "give your own kit another name"}}
			}
		}
		codec := lengthCodec{}
		for _, m := range []struct {
			name string
			l    wood.Length
			max  wood.Length
		}{{"thickness", p.Thickness, wood.Metre}, {"width", p.Width, 3 * wood.Metre}, {"length", p.Length, 30 * wood.Metre}} {
			if m.l > m.max {
				return FieldErrors{{Field: m.name, Value: codec.print(&m.l, env), Problem: "is more than " + codec.print(&m.max, env), Remedy: "check the number and its unit"}}
			}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"part_once_in_its_kit": {Field: "part", Problem: "is in this kit already", Remedy: "choose another name, or correct that one"},
	},
	natural: []natural[OwnPart]{{field: "part", words: "kit and part", key: ownPartKey,
		sql: `SELECT lower(kit) || chr(31) || lower(name), id FROM part WHERE lower(kit) || chr(31) || lower(name) = ANY($1) AND struck_at IS NULL`}},
	identity: ownPartKey,
}

func ownPartKey(p *OwnPart) string {
	return strings.ToLower(p.Kit) + "\x1f" + strings.ToLower(p.Part)
}

// Grade returns the part as grades and plans take it; its rough size is its
// finished one, since a plan adds the allowances.
func (p *OwnPart) Grade() grade.Part {
	size := grade.Size{Thickness: p.Thickness, Width: p.Width, Length: p.Length}
	return grade.Part{
		Kit: p.Kit, Part: p.Part, Count: p.Count, Finished: size, Rough: size,
		Zone: grade.Zone(p.Zone), Faces: p.Faces, Glue: p.Glue, Status: "own", Source: "written by " + p.Keeper,
	}
}

// Kits returns what can be built: the keeper's own kits, then the house's.
func (s *Store) Kits(ctx context.Context) ([]grade.Kit, error) {
	own, err := OwnParts.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY lower(t.kit), t.received_at, t.id LIMIT 2000")
	if err != nil {
		return nil, err
	}
	var kits []grade.Kit
	for i := range own {
		p := &own[i]
		if n := len(kits); n > 0 && strings.EqualFold(kits[n-1].Name, p.Kit) {
			kits[n-1].Parts = append(kits[n-1].Parts, p.Grade())
			continue
		}
		kits = append(kits, grade.Kit{Name: p.Kit, Parts: []grade.Part{p.Grade()}})
	}
	return append(kits, grade.Kits()...), nil
}
