package mark

import "strings"

// allFields is the keys of Reading.Certainty, in the order a person asks for them.
var allFields = [...]string{
	FieldSymbol, FieldCountry, FieldProducer, FieldTreatment, FieldDebarked, FieldKiln, FieldDunnage,
	FieldRepair, FieldAgency, FieldLot, FieldMoisture, FieldPreservative, FieldUseCategory,
	FieldOwnership, FieldCargo, FieldDangerousGoods, FieldSpecies, FieldGrade,
}

// value is a field as text; empty when nothing was read. Country is the code in
// the country's place, so that a reserved code counts as something read; producer
// is all that compete; treatment counts unknown codes too.
func value(b *built, field string) string {
	yes := func(flag bool) string {
		if flag {
			return "yes"
		}
		return ""
	}
	switch field {
	case FieldSymbol:
		return b.Symbol
	case FieldCountry:
		return strings.Join(unique(b.country), " ")
	case FieldProducer:
		return strings.Join(texts(b.producers), " ")
	case FieldTreatment:
		return strings.Join(append(append([]string{}, b.Treatments...), b.Unknown...), " ")
	case FieldDebarked:
		return yes(b.Debarked)
	case FieldKiln:
		return b.Kiln
	case FieldDunnage:
		return yes(b.Dunnage)
	case FieldRepair:
		return yes(b.Repair)
	case FieldAgency:
		return b.Agency
	case FieldLot:
		return b.Lot
	case FieldMoisture:
		return b.Moisture
	case FieldPreservative:
		return strings.Join(b.Preservatives, " ")
	case FieldUseCategory:
		return strings.Join(b.UseCategories, " ")
	case FieldOwnership:
		return b.Ownership
	case FieldCargo:
		return strings.Join(b.Cargo, " ")
	case FieldDangerousGoods:
		return strings.Join(b.DangerousGoods, " ")
	case FieldSpecies:
		return strings.Join(b.Species, " ")
	case FieldGrade:
		return strings.Join(b.Grade, " ")
	}
	return ""
}

// certainty judges every field over the readings that fit. A clash in the
// reading itself, or two readings that name different values, contradict. A
// value that only some readings have, or that rests on an assumption, is
// assumed. Doubt about the text as a whole leaves nothing better than assumed.
func certainty(top *built, listed []*built, d doubts) map[string]Certainty {
	out := make(map[string]Certainty, len(allFields))
	for _, field := range allFields {
		out[field] = fieldCertainty(field, top, listed)
		if out[field] == CertaintyRead && d.any() {
			out[field] = CertaintyAssumed
		}
	}
	return out
}

// fieldCertainty judges one field, apart from doubt about the text as a whole.
func fieldCertainty(field string, top *built, listed []*built) Certainty {
	if top.clash[field] {
		return CertaintyContradictory
	}
	values := map[string]bool{}
	absent, assumed := false, false
	for _, b := range listed {
		if v := value(b, field); v != "" {
			values[v] = true
		} else {
			absent = true
		}
		assumed = assumed || b.assumed[field]
	}
	switch {
	case len(values) == 0:
		return CertaintyMissing
	case field == FieldProducer && len(values) > 1 && twins(values):
		return CertaintyAssumed
	case len(values) > 1:
		return CertaintyContradictory
	case absent || assumed:
		return CertaintyAssumed
	}
	return CertaintyRead
}

// twins reports whether all values are one producer code with look-alikes
// swapped. Such a code is only assumed, not contradicted: 1O23 is a valid code as
// it stands, and no verdict hangs on it.
func twins(values map[string]bool) bool {
	for v := range values {
		twin, _, ok := tables().producerTwin(v)
		if ok && len(values) == 2 && values[twin] {
			return true
		}
	}
	return false
}
