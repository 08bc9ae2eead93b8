package mark

import (
	"cmp"
	"slices"
	"strings"
)

// built is one reading being put together from items.
type built struct {
	Fields
	assumed map[string]bool // fields that rest on an assumption
	clash   map[string]bool // fields with rival values, or none the tables know
	codes   []*row
	country []string

	producers, numbers, words []item
	owners, lots, owned       []string
	kiln, moisture            []*row
}

// assemble puts items together into one reading. It does not look at the order
// of items: what a text says must not hang on the order of its lines.
func assemble(items []item) *built {
	b := &built{assumed: map[string]bool{}, clash: map[string]bool{}}
	for _, it := range items {
		b.take(it)
	}
	b.settleCountry()
	b.settleProducer()
	b.settleWords()
	b.settleStamp()
	b.settleLists()
	return b
}

// take puts one item where it belongs.
func (b *built) take(it item) {
	switch it.kind {
	case itemCode:
		b.takeCode(it)
	case itemCountry:
		b.country = append(b.country, it.text)
		b.guess(it, FieldCountry)
	case itemProducer:
		b.producers = append(b.producers, it)
	case itemNumber:
		b.numbers = append(b.numbers, it)
	case itemWord:
		b.words = append(b.words, it)
	case itemLot:
		b.lots = append(b.lots, it.text)
		b.guess(it, FieldLot)
	case itemOwner:
		b.owned = append(b.owned, it.text)
	case itemExtra:
		b.Extra = append(b.Extra, it.text)
	}
}

// guess marks the field when the item that fills it rests on an assumption.
func (b *built) guess(it item, field string) {
	if it.assumed {
		b.assumed[field] = true
	}
}

// takeCode makes the assignments of a code. Kiln and moisture words wait until
// all are known, since the most telling of several counts.
func (b *built) takeCode(it item) {
	b.codes = append(b.codes, it.row)
	for _, set := range it.row.sets {
		value := set.value
		if value == "*" {
			value = it.text
		}
		if field, known := fieldOf[set.field]; known {
			b.guess(it, field)
		}
		switch set.field {
		case "symbol":
			b.Symbol = value
		case "treatments":
			b.Treatments = append(b.Treatments, value)
		case "unknown":
			b.Unknown = append(b.Unknown, value)
		case "debarked":
			b.Debarked = true
		case "dunnage":
			b.Dunnage = true
		case "repair":
			b.Repair = true
		case "treated":
			b.Treated = true
		case "grade_stamp":
			b.GradeStamp = true
		case "kiln":
			b.kiln = append(b.kiln, it.row)
		case "moisture":
			b.moisture = append(b.moisture, it.row)
		case "preservatives":
			b.Preservatives = append(b.Preservatives, value)
		case "use_categories":
			b.UseCategories = append(b.UseCategories, value)
		case "ownership":
			b.owners = append(b.owners, spelled(it))
		case "cargo":
			b.Cargo = append(b.Cargo, value)
		case "dangerous_goods":
			b.DangerousGoods = append(b.DangerousGoods, value)
		case "species":
			b.Species = append(b.Species, value)
		case "grade":
			b.Grade = append(b.Grade, value)
		case "extra":
			b.Extra = append(b.Extra, value)
		}
	}
}

// fieldOf maps the names in codes.csv to the keys of Reading.Certainty.
var fieldOf = map[string]string{
	"symbol": FieldSymbol, "treatments": FieldTreatment, "unknown": FieldTreatment,
	"debarked": FieldDebarked, "dunnage": FieldDunnage, "repair": FieldRepair, "kiln": FieldKiln,
	"moisture": FieldMoisture, "preservatives": FieldPreservative, "use_categories": FieldUseCategory,
	"ownership": FieldOwnership, "cargo": FieldCargo, "dangerous_goods": FieldDangerousGoods,
	"species": FieldSpecies, "grade": FieldGrade,
}

// spelled is the usual writing of a code when the text has its first writing.
func spelled(it item) string {
	if it.row.Forms[0] == it.text {
		return it.row.Code.Text
	}
	return it.text
}

// settleCountry takes the one country there is. Reserved codes and codes of
// nobody leave the field empty: they are kept as text.
func (b *built) settleCountry() {
	codes := unique(b.country)
	if len(codes) == 0 {
		return
	}
	if len(codes) > 1 {
		b.clash[FieldCountry] = true
		b.Extra = append(b.Extra, codes...)
		return
	}
	c, _ := CountryByCode(codes[0])
	b.CountryStatus = c.Status
	switch c.Status {
	case Official, Retired:
		b.Country = c.Code
	case UserAssigned:
		b.Country = c.Code
		b.clash[FieldCountry] = true
	default:
		b.clash[FieldCountry] = true
		b.Extra = append(b.Extra, codes[0])
	}
}

// settleProducer takes the one producer there is. A country without one takes
// the only loose number of the text (marks may run over three lines, ISPM 15
// annex 2, so it may well stand alone); other loose numbers are lot numbers. With
// several loose numbers nobody can say which is the producer.
func (b *built) settleProducer() {
	names := texts(b.producers)
	loose := texts(b.numbers)
	switch {
	case len(names) > 1:
		b.clash[FieldProducer] = true
		b.Extra = append(b.Extra, names...)
	case len(names) == 1:
		b.Producer = names[0]
	case len(b.country) > 0 && len(loose) == 1:
		b.Producer = loose[0]
		b.producers, loose = b.numbers, nil
		if !b.producers[0].alone {
			b.assumed[FieldProducer] = true
		}
	}
	for _, p := range b.producers {
		b.guess(p, FieldProducer)
	}
	b.lots = append(b.lots, loose...)
	b.Lot = strings.Join(unique(b.lots), " ")
}

// settleWords finds a place for words that are no code: an unknown code of two
// letters where a treatment should be, else the agency beside a mark or stamp
// (US marks add a name or initials). Treatment codes are all two letters long, so
// a longer word is no misread treatment.
func (b *built) settleWords() {
	words := texts(b.words)
	inMark := b.Symbol != "" || len(b.country) > 0
	if inMark && len(b.Treatments) == 0 && len(b.Unknown) == 0 {
		for i, w := range words {
			if len(w) == 2 {
				b.Unknown = append(b.Unknown, w)
				words = slices.Delete(words, i, i+1)
				break
			}
		}
	}
	const agencyWords = 2
	if beside := inMark || len(b.Treatments) > 0 || b.GradeStamp; beside && len(words) > 0 && len(words) <= agencyWords {
		long := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return len(w) < 2 })
		b.Agency = strings.Join(long, " ")
		b.assumed[FieldAgency] = b.Agency != ""
		words = slices.DeleteFunc(words, func(w string) bool { return len(w) >= 2 })
	}
	b.Extra = append(b.Extra, words...)
}

// settleStamp takes the most telling of several kiln and moisture words, which is
// the first in the table. Surfaced green denies every dry class.
func (b *built) settleStamp() {
	first := func(rows []*row, field string) (value string, all []string) {
		slices.SortFunc(rows, func(x, y *row) int { return cmp.Compare(x.rank, y.rank) })
		for _, r := range rows {
			for _, set := range r.sets {
				if set.field == field {
					all = append(all, set.value)
				}
			}
		}
		if len(all) > 0 {
			value = all[0]
		}
		return value, unique(all)
	}
	b.Kiln, _ = first(b.kiln, "kiln")
	var all []string
	b.Moisture, all = first(b.moisture, "moisture")
	if len(all) > 1 && slices.Contains(all, "S-GRN") {
		b.Moisture = ""
		b.clash[FieldMoisture] = true
		b.Extra = append(b.Extra, all...)
	}
}

// settleLists sorts what was gathered, and joins owner and words of ownership.
func (b *built) settleLists() {
	if len(b.owners) > 0 {
		b.Ownership = strings.Join(append(unique(b.owners), b.owned...), " ")
	}
	for _, list := range []*[]string{
		&b.Treatments, &b.Unknown, &b.Preservatives, &b.UseCategories, &b.Cargo,
		&b.DangerousGoods, &b.Species, &b.Grade, &b.Extra,
	} {
		*list = append([]string{}, unique(*list)...)
	}
	if len(b.Treatments)+len(b.Unknown) > 1 || len(b.Unknown) > 0 {
		b.clash[FieldTreatment] = true
	}
}

// texts lists what the items say, in order, each once.
func texts(items []item) []string {
	out := make([]string, 0, len(items))
	for _, it := range items {
		out = append(out, it.text)
	}
	return unique(out)
}
