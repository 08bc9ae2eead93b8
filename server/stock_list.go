package server

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"skepwood/analytics/wood"
	"skepwood/db"
)

// stockPage lists the boards on the rack that a filter finds.
type stockPage struct {
	base
	Filter   stockForm
	Boards   []db.StockBoard
	Sum      db.StockSum
	Places   []string
	Lots     []db.LotRow
	NextPage string
	Faults   []formFault
}

// stockForm is the filter as typed.
type stockForm struct {
	Verdict, MinThickness, MaxThickness, MinWidth, MinLength, Dry, Place string
	Errors                                                               map[string]string
}

// Set tells whether anything was typed, so that the filter shows what it does.
func (f stockForm) Set() bool {
	return f.Verdict+f.MinThickness+f.MaxThickness+f.MinWidth+f.MinLength+f.Dry+f.Place != ""
}

const stockPageSize = 50

func (a *app) stockList(w http.ResponseWriter, r *http.Request) error {
	page := &stockPage{base: a.base(r, "Stock")}
	filter := page.readFilter(r)
	var err error
	if page.Places, err = a.store.StockPlaces(r.Context()); err != nil {
		return err
	}
	if p := page.Filter.Place; p != "" && !slices.Contains(page.Places, p) {
		page.Places = append(page.Places, p) // nothing lies there now; the form says so
	}
	if len(page.Faults) > 0 {
		return a.render(w, http.StatusUnprocessableEntity, "stock_list", page)
	}
	filter.Limit = stockPageSize + 1 // one more tells whether there is a next page
	if page.Boards, err = a.store.Stock(r.Context(), filter); err != nil {
		return err
	}
	if len(page.Boards) > stockPageSize {
		page.Boards = page.Boards[:stockPageSize]
		page.NextPage = nextPage(r.URL, page.Boards[stockPageSize-1].Code)
	}
	if page.Sum, err = a.store.StockTotals(r.Context(), filter); err != nil {
		return err
	}
	if page.Lots, err = a.store.Lots(r.Context(), db.LotFilter{Verdicts: []string{"hold", "never"}, Stopped: true, Limit: 200}); err != nil {
		return err
	}
	return a.show(w, "stock_list", page)
}

func nextPage(u *url.URL, after string) string {
	q := u.Query()
	q.Set("after", after)
	return u.Path + "?" + q.Encode()
}

func (p *stockPage) readFilter(r *http.Request) db.StockFilter {
	q := r.URL.Query()
	get := func(name string) string { return strings.TrimSpace(q.Get(name)) }
	p.Filter = stockForm{Verdict: get("verdict"), MinThickness: get("min_thickness"), MaxThickness: get("max_thickness"),
		MinWidth: get("min_width"), MinLength: get("min_length"), Dry: get("dry"), Place: get("place"), Errors: map[string]string{}}
	f := db.StockFilter{Place: p.Filter.Place, After: get("after"), Verdict: p.Filter.Verdict}
	if _, known := verdictWords[f.Verdict]; !known && f.Verdict != "" {
		p.wrong("verdict", "Verdict", "is none of the four: "+clipped(f.Verdict)+"; choose one of the list, or any")
	}
	for _, m := range []struct {
		name, text, label string
		into              *wood.Length
	}{
		{"min_thickness", p.Filter.MinThickness, "Thickness from", &f.MinThickness}, {"max_thickness", p.Filter.MaxThickness, "Thickness to", &f.MaxThickness},
		{"min_width", p.Filter.MinWidth, "Width from", &f.MinWidth}, {"min_length", p.Filter.MinLength, "Length from", &f.MinLength},
	} {
		if m.text == "" {
			continue
		}
		l, err := wood.ParseLength(m.text, p.Env.Length)
		if err != nil {
			wrong := db.LengthFault(err)
			p.wrong(m.name, m.label, wrong.Problem+"; "+wrong.Remedy)
			continue
		}
		*m.into = l
	}
	if f.MaxThickness > 0 && f.MinThickness > f.MaxThickness {
		p.wrong("max_thickness", "Thickness to", "is less than the thickness from, so no board can be both; turn the two round, or leave one empty")
	}
	if p.Filter.Dry != "" {
		v, err := strconv.ParseFloat(strings.Replace(strings.TrimSuffix(p.Filter.Dry, "%"), ",", ".", 1), 64)
		if err != nil || !(v > 0 && v <= 400) { // NaN too
			p.wrong("dry", "At most this wet", "is not a percentage from 1 to 400; write it like 16")
		}
		f.MaxPercent = v
	}
	return f
}

// clipped shortens what stands in an address.
func clipped(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

func (p *stockPage) wrong(name, label, problem string) {
	p.Filter.Errors[name] = problem
	p.Faults = append(p.Faults, formFault{ID: name, Text: label + " " + problem})
}
