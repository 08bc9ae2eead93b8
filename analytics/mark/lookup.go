package mark

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

func isFumigant(code string) bool { return code == "MB" || code == "SF" }

func isTreatment(code string) bool { return isFumigant(code) || code == "HT" || code == "DH" }

func allCodes() []Code {
	t := tables()
	out := make([]Code, 0, len(t.rows))
	for _, r := range t.rows {
		out = append(out, r.Code)
	}
	sortCodes(out)
	return out
}

func sortCodes(codes []Code) {
	slices.SortFunc(codes, func(a, b Code) int {
		return cmp.Or(strings.Compare(string(a.Class), string(b.Class)), strings.Compare(a.Text, b.Text))
	})
}

func countryByCode(code string) (Country, bool) {
	t := tables()
	if i, ok := t.byCode[strings.ToUpper(code)]; ok {
		return t.countries[i], true
	}
	return Country{Code: strings.ToUpper(code), Status: Unassigned}, false
}

func allCountries() []Country { return slices.Clone(tables().countries) }

func withdrawal(country string) (time.Time, string, bool) {
	w, ok := tables().withdrawn[strings.ToUpper(country)]
	return w.date, w.source, ok
}

func allPreservatives() []Preservative {
	out := slices.Clone(tables().preserved)
	for i := range out {
		out[i].Aliases = slices.Clone(out[i].Aliases)
	}
	return out
}

func preservativeByCode(code string) (Preservative, bool) {
	t := tables()
	i, ok := t.pres[squeeze(code)]
	if !ok {
		return Preservative{}, false
	}
	p := t.preserved[i]
	p.Aliases = slices.Clone(p.Aliases)
	return p, true
}

func document() Grammar {
	t := tables()
	g := Grammar{
		Version: t.version, MaxRunes: MaxRunes, MaxReadings: MaxReadings, Date: datePattern,
		Algorithm: slices.Clone(t.algorithm), Fold: slices.Clone(t.fold), LookAlikes: slices.Clone(t.alike), Countries: allCountries(),
	}
	for _, r := range t.rows {
		f := r.Form
		f.Forms, f.Sets = slices.Clone(f.Forms), slices.Clone(f.Sets)
		g.Forms = append(g.Forms, f)
	}
	return g
}
