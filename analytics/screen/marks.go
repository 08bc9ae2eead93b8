package screen

import (
	"slices"

	"skepwood/analytics/mark"
)

// readsMark is KindInfo.Read of the kinds whose text package mark reads.
const readsMark = "mark"

// markFacts numbers the facts a text off the wood can yield. How a reading
// becomes facts is also told in words in the document ("mark_facts").
type markFacts struct {
	any, unreadable, incomplete, unknownCode, twoCodes         factID
	withdrawn, countryOdd, countryRetired, lumber, noise       factID
	treated, useCategory, owner, cargo, un, un3359             factID
	dunnage, debarked, kiln, repair, misspelt, ncUS, untreated factID
	code, full, preservative                                   map[string]factID
}

func (t *tableSet) compileMarkFacts() {
	m := &t.marks
	for name, id := range map[string]*factID{
		"mark.any": &m.any, "mark.unreadable": &m.unreadable, "mark.incomplete": &m.incomplete,
		"mark.unknown_code": &m.unknownCode, "mark.two_codes": &m.twoCodes,
		"mark.withdrawn=MB": &m.withdrawn, "mark.country_odd": &m.countryOdd,
		"mark.country_retired": &m.countryRetired, "mark.lumber=HT": &m.lumber, "mark.noise": &m.noise,
		"mark.treated": &m.treated, "mark.uc": &m.useCategory, "mark.owner": &m.owner,
		"mark.chem_pallet": &m.cargo, "mark.un": &m.un, "mark.un3359": &m.un3359,
		"mark.dunnage": &m.dunnage, "mark.db": &m.debarked, "mark.kd": &m.kiln,
		"mark.repair": &m.repair, "mark.misspelt": &m.misspelt,
		"mark.nc_us": &m.ncUS, "mark.untreated": &m.untreated,
	} {
		*id = t.fact(name)
	}
	m.code, m.full, m.preservative = map[string]factID{}, map[string]factID{}, map[string]factID{}
	for _, c := range []string{"HT", "DH", "MB", "SF"} {
		m.code[c], m.full[c] = t.fact("mark.code="+c), t.fact("mark.full="+c)
	}
	for _, p := range mark.Preservatives() {
		if p.Kind == "preservative" {
			m.preservative[p.Code] = t.fact("mark.pres=" + p.Code)
		}
	}
}

// readText gives the facts of a mark or tag. Text in which nothing is read
// yields "mark.noise" or, for a tag, "tag=?"; both hold.
func (h *hearing) readText(i int, k *kindTable) ([]factID, bool) {
	r := mark.Read(h.findings[i].Value)
	// Advice helps a person look again and changes no verdict; two lines are read,
	// ten are not.
	const adviceShown = 2
	for _, advice := range r.Advice[:min(len(r.Advice), adviceShown)] {
		h.note(i, advice)
	}
	facts := h.t.marks.facts(&r)
	if len(facts) > 1 {
		return facts, true
	}
	if k.info.Kind != "mark" {
		return k.any, false
	}
	return append(facts, h.t.marks.noise), false
}

// facts turns a reading into facts. Of several readings that fit, those that
// count against the wood count from any, those that speak for it from all.
func (m *markFacts) facts(r *mark.Reading) []factID {
	const usual = 8
	facts := append(make([]factID, 0, usual), m.any)
	for i := range r.Readings {
		facts = m.against(facts, &r.Readings[i].Fields)
	}
	for code, id := range m.code {
		if !mark.IsFumigant(code) && inEvery(r.Readings, code) {
			facts = append(facts, id)
			if lumberStamp(r) && code == "HT" {
				facts = append(facts, m.lumber)
			}
		}
	}
	for _, code := range fullTreatments(r) {
		facts = append(facts, m.full[code])
	}
	facts = m.whole(facts, r)
	slices.Sort(facts)
	return slices.Compact(facts)
}

// fullTreatments are the treatments a complete mark vouches for. A mark that is
// complete but for naming two treatments vouches for its gas alone, or for both
// where both are heat: the worse of the two counts.
func fullTreatments(r *mark.Reading) []string {
	if !r.Complete && !onlyTwoCodes(r) {
		return nil
	}
	if slices.ContainsFunc(r.Treatments, mark.IsFumigant) {
		return slices.DeleteFunc(slices.Clone(r.Treatments), func(c string) bool { return !mark.IsFumigant(c) })
	}
	return r.Treatments
}

// onlyTwoCodes reports whether all that keeps the mark from being complete is
// that it names more than one treatment.
func onlyTwoCodes(r *mark.Reading) bool {
	return len(r.Treatments) > 1 && len(r.Unknown) == 0 && len(r.Readings) == 1 && r.More == 0 &&
		r.CountryStatus == mark.Official &&
		r.Certainty[mark.FieldSymbol] == mark.CertaintyRead && r.Certainty[mark.FieldCountry] == mark.CertaintyRead &&
		r.Certainty[mark.FieldProducer] == mark.CertaintyRead
}

// against adds what one reading holds against the wood, and plain remarks.
func (m *markFacts) against(facts []factID, f *mark.Fields) []factID {
	add := func(when bool, id factID) {
		if when {
			facts = append(facts, id)
		}
	}
	for _, c := range f.Treatments {
		add(mark.IsFumigant(c), m.code[c])
	}
	if slices.Contains(f.Treatments, "MB") {
		_, _, known := mark.Withdrawal(f.Country)
		add(known, m.withdrawn)
	}
	for _, p := range f.Preservatives {
		id, ok := m.preservative[p]
		add(ok, id)
	}
	add(f.Treated && len(f.Preservatives) == 0 && len(f.UseCategories) == 0, m.treated)
	add(len(f.UseCategories) > 0, m.useCategory)
	add(len(f.Treatments) > 1, m.twoCodes)
	add(len(f.Unknown) > 0, m.unknownCode)
	add(f.Ownership != "", m.owner)
	add(len(f.Cargo) > 0, m.cargo)
	for _, code := range f.DangerousGoods {
		add(code == "UN3359", m.un3359)
		add(code != "UN3359", m.un)
	}
	add(f.Dunnage, m.dunnage)
	add(f.Debarked, m.debarked)
	add(f.Kiln != "", m.kiln)
	add(f.Repair, m.repair)
	add(f.Symbol == "IPCC", m.misspelt)
	add(slices.Contains(f.Extra, "NC-US"), m.ncUS)
	add(slices.Contains(f.Extra, "UNTREATED"), m.untreated)
	add(odd(f.CountryStatus), m.countryOdd)
	add(f.CountryStatus == mark.Retired, m.countryRetired)
	return facts
}

// odd reports whether the letters in the country's place are no country code,
// past or present.
func odd(s mark.CountryStatus) bool {
	return s == mark.Reserved || s == mark.UserAssigned || s == mark.Unassigned
}

// whole adds what the reading as a whole says about its own completeness.
func (m *markFacts) whole(facts []factID, r *mark.Reading) []factID {
	if r.UnreadRunes > 0 {
		facts = append(facts, m.unreadable)
	}
	if len(r.Readings) > 1 || r.More > 0 {
		facts = append(facts, m.unreadable)
	}
	if r.Complete || lumberStamp(r) || onlyTwoCodes(r) {
		return facts
	}
	missing, doubt := false, false
	for _, field := range markElements {
		switch r.Certainty[field] {
		case mark.CertaintyMissing:
			missing = true
		case mark.CertaintyAssumed, mark.CertaintyContradictory:
			// A code that is no country has a rule of its own.
			doubt = doubt || field != mark.FieldCountry || !odd(r.CountryStatus)
		}
	}
	if !partOfMark(r) {
		return facts
	}
	if missing {
		facts = append(facts, m.incomplete)
	}
	if doubt {
		facts = append(facts, m.unreadable)
	}
	return facts
}

// markElements are the four parts of a packaging mark (ISPM 15 annex 2).
var markElements = [...]string{mark.FieldSymbol, mark.FieldCountry, mark.FieldProducer, mark.FieldTreatment}

// partOfMark reports whether the text shows any part of a packaging mark; a
// preservative tag or an owner's name alone is no incomplete mark.
func partOfMark(r *mark.Reading) bool {
	for _, field := range markElements {
		if field != mark.FieldProducer && r.Certainty[field] != mark.CertaintyMissing {
			return true
		}
	}
	return false
}

// lumberStamp reports whether the text is a stamp of heat-treated lumber: no
// symbol and no country, but kiln or grade words (ALSC rules).
func lumberStamp(r *mark.Reading) bool {
	return r.Symbol == "" && r.Country == "" && r.CountryStatus == "" &&
		len(r.Readings) == 1 && r.More == 0 && (r.GradeStamp || r.Kiln != "")
}

// inEvery reports whether every reading holds the treatment, and there is one.
func inEvery(readings []mark.Alternative, code string) bool {
	for i := range readings {
		if !slices.Contains(readings[i].Treatments, code) {
			return false
		}
	}
	return len(readings) > 0
}
