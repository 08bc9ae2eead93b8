package server

import (
	"net/http"
	"slices"
	"strings"

	"skepwood/analytics/mark"
	"skepwood/analytics/screen"
)

// markPage reads a mark as typed.
type markPage struct {
	base
	Text    string
	Reading *mark.Reading
	// Judgement is what the mark alone would mean for a lot.
	Judgement screen.Judgement
	Why       []reasonLine
	Fields    []markField
}

// markField is one part of a mark with how sure it is.
type markField struct {
	Name, Value string
	Certainty   mark.Certainty
}

func (a *app) markRead(w http.ResponseWriter, r *http.Request) error {
	page := &markPage{base: a.base(r, "Read a mark"), Text: r.URL.Query().Get("text")}
	if strings.TrimSpace(page.Text) == "" {
		return a.show(w, "mark_read", page)
	}
	reading := mark.Read(page.Text)
	page.Reading = &reading
	page.Fields = markFields(reading)
	opts, err := a.store.ScreenOptions(r.Context())
	if err != nil {
		return err
	}
	value := page.Text
	if len(value) > screen.MaxValueBytes {
		value = strings.ToValidUTF8(value[:screen.MaxValueBytes], "")
	}
	findings := []screen.Finding{{Kind: "mark", Value: value, On: screen.OnLot}}
	page.Judgement = screen.Judge(findings, opts)
	page.Why = reasonLines(page.Judgement.Reasons, findings)
	return a.show(w, "mark_read", page)
}

// markFields lists the parts that were read or are missed.
func markFields(r mark.Reading) []markField {
	join := func(s []string) string { return strings.Join(s, ", ") }
	all := []markField{
		{"Symbol", r.Symbol, r.Certainty[mark.FieldSymbol]},
		{"Country", strings.TrimSpace(r.Country + " " + r.CountryName), r.Certainty[mark.FieldCountry]},
		{"Producer", r.Producer, r.Certainty[mark.FieldProducer]},
		{"Treatment", join(r.Treatments), r.Certainty[mark.FieldTreatment]},
		{"Kiln", r.Kiln, r.Certainty[mark.FieldKiln]},
		{"Preservative", join(r.Preservatives), r.Certainty[mark.FieldPreservative]},
		{"Use category", join(r.UseCategories), r.Certainty[mark.FieldUseCategory]},
		{"Moisture when surfaced", r.Moisture, r.Certainty[mark.FieldMoisture]},
		{"Owner's words", r.Ownership, r.Certainty[mark.FieldOwnership]},
		{"Agency", r.Agency, r.Certainty[mark.FieldAgency]},
		{"Lot or date", r.Lot, r.Certainty[mark.FieldLot]},
	}
	out := all[:4]
	for _, f := range all[4:] {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return out
}

// markCardPage is the card for the truck: one printed page.
type markCardPage struct {
	base
	Treatments    []cardLine
	Adjacent      []cardLine
	Preservatives []cardLine
	RuleVersion   string
	// Remembered says of every line with a sign what is from memory.
	Remembered []string
}

// cardLine is one code on the card; Memory, where not empty, gives it the sign of
// the footnote and stands there.
type cardLine struct {
	Text, Meaning, Memory string
}

func (a *app) markCard(w http.ResponseWriter, r *http.Request) error {
	page := &markCardPage{base: a.base(r, "Card for the truck"), RuleVersion: screen.Version()}
	for _, c := range mark.Codes() {
		switch c.Class {
		case mark.ClassTreatment:
			page.Treatments = append(page.Treatments, newCardLine(c.Text, c.Meaning, c.Status))
		case mark.ClassKiln, mark.ClassOwnership, mark.ClassDangerousGoods:
			page.Adjacent = append(page.Adjacent, newCardLine(c.Text, c.Meaning, c.Status))
		}
	}
	for _, p := range mark.Preservatives() {
		if p.Kind != "preservative" {
			continue
		}
		// The card prints the bare code, so only a code known from memory counts.
		status := p.Status
		if !strings.HasPrefix(status, rememberedWord) {
			status = ""
		}
		page.Preservatives = append(page.Preservatives, newCardLine(p.Code, "", status))
	}
	for _, line := range slices.Concat(page.Treatments, page.Preservatives, page.Adjacent) {
		if line.Memory != "" {
			page.Remembered = append(page.Remembered, line.Memory)
		}
	}
	return a.show(w, "mark_card", page)
}

// rememberedWord is how the tables of marks label what nobody has read, with the
// part in brackets where it is not the whole: "checked (code); from memory (60 C,
// 1 minute)".
const rememberedWord = "from memory"

// newCardLine makes a line of the card and, where its status asks for it, what the
// footnote says of it.
func newCardLine(text, meaning, status string) cardLine {
	_, part, memory := strings.Cut(status, rememberedWord)
	if !memory {
		return cardLine{Text: text, Meaning: meaning}
	}
	part, _, _ = strings.Cut(part, ";")
	return cardLine{text, meaning, strings.TrimSpace(text + " " + strings.TrimSpace(part))}
}
