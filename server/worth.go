package server

import (
	"encoding/csv"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"skepwood/analytics/yield"
	"skepwood/charts"
	"skepwood/db"
)

// worthRoutes are the addresses about what drives are worth.
func (a *app) worthRoutes(get, post func(string, handler)) {
	get("/sources.csv", a.sourceSheet)
	get("/sources/wood.csv", a.woodSheet)
	get("/sources/value.csv", a.valueSheet)
	get("/sources/{id}/merge", a.mergeShow)
	post("/sources/{id}/merge", a.mergeSave)
	post("/sources/{id}/split", a.splitSave)
	get("/drive", a.driveShow)
	get("/drive.csv", a.driveSheet)
	get("/round", a.roundShow)
	get("/round.csv", a.roundSheet)
	get("/lookback", a.lookbackShow)
	get("/lookback.csv", a.lookbackSheet)
	get("/charts/next.{format}", a.chartNext)
	get("/charts/pit.{format}", a.chartPIT)
	get("/charts/trips/{id}.{format}", a.chartTrips)
	get("/charts/fate/{id}.{format}", a.chartSourceFate)
	get("/sources/{id}/trips.csv", a.tripSheet)
}

// worthFuncs print forecasts in templates.
func worthFuncs() template.FuncMap {
	return template.FuncMap{
		"spread": spreadText, "bounds": boundsText, "volSpread": volumeSpread, "shareFigure": shareFigure, "roadFigure": roadFigure,
		"says": says, "drift": driftText, "doubt": doubtText,
		"metres": func(miles float64) float64 { return miles * metresPerMile },
	}
}

// spreadText prints a forecast of money with its 90 % interval.
func spreadText(s yield.Spread, currency string) string {
	return minorText(s.Mean, currency) + " (" + boundsText(s.Most, currency) + ")"
}

// boundsText prints an interval of money.
func boundsText(b yield.Bounds, currency string) string {
	return minorText(b.Low, currency) + " to " + minorText(b.High, currency)
}

// minorText prints money, as every page and sheet does.
func minorText(v float64, currency string) string { return yield.FormatMinor(v, currency) }

// volumeSpread prints a forecast of wood with its 90 % interval; no volume
// lies below nothing.
func volumeSpread(env db.Env, s yield.Spread) string {
	return volumeText(env, s.Mean) + " (" + volumeText(env, max(0, s.Most.Low)) + " to " + volumeText(env, s.Most.High) + ")"
}

// shareFigure prints a share with its 90 % interval, in percent.
func shareFigure(f yield.Figure) string {
	if !f.Known {
		return "not known: " + f.Why
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f %%)", 100*f.Value, 100*f.Low, 100*f.High)
}

// roadFigure prints a figure in miles with its 90 % interval, in the keeper's
// unit.
func roadFigure(env db.Env, f yield.Figure) string {
	if !f.Known {
		return "not known: " + f.Why
	}
	in := func(miles float64) string { return roadText(env, miles*metresPerMile) }
	return in(f.Value) + " (" + in(f.Low) + " to " + in(f.High) + ")"
}

// metresPerMile is the international mile of 1959, exactly.
const metresPerMile = 1609.344

// says leaves the name away that a sentence begins with, where the name
// stands beside it already.
func says(name, sentence string) string {
	rest, named := strings.CutPrefix(sentence, name+": ")
	if !named {
		return sentence
	}
	first, size := utf8.DecodeRuneInString(rest)
	return string(unicode.ToUpper(first)) + rest[size:]
}

// driftText says whether a source changes.
func driftText(d yield.Drift, n int) string {
	chance := fmt.Sprintf("%.0f %%", 100*d.Chance)
	switch {
	case n < 2:
		return "One trip cannot show a change."
	case d.Chance < 0.5:
		return "The book does not show that sources change (chance " + chance + "): old trips count as much as new ones."
	}
	way := "about at"
	if d.Shift > 1.02 {
		way = fmt.Sprintf("%.0f %% above", 100*(d.Shift-1))
	} else if d.Shift > 0 && d.Shift < 0.98 {
		way = fmt.Sprintf("%.0f %% below", 100*(1-d.Shift))
	}
	return fmt.Sprintf("Sources may change with time (chance %s): a trip a year ago counts for %.0f %% of one today, and loads now run %s their long-run level.", chance, 100*d.Recent, way)
}

// doubtText says where the doubt about the next load comes from, largest
// first.
func doubtText(d yield.Doubt) string {
	parts := []struct {
		share float64
		words string
	}{{d.Volume, "how much comes home"}, {d.Usability, "how much of it can be used"}, {d.Emptiness, "whether anything comes home"}, {d.Time, "how long it takes"}}
	var out []string
	for len(out) < len(parts) {
		best := 0
		for i := range parts {
			if parts[i].share > parts[best].share {
				best = i
			}
		}
		if parts[best].share < 0.005 {
			break
		}
		out = append(out, fmt.Sprintf("%.0f %% %s", 100*parts[best].share, parts[best].words))
		parts[best].share = -1
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}

// nextPicture shows what the next trip to each source nets, with staying home
// to compare with.
func nextPicture(ranking *db.Ranking) charts.Yields {
	unit := yield.MinorPerMajor(ranking.Currency)
	pic := charts.Yields{Title: "Net of the next trip, by source", Unit: ranking.Currency + " the next trip", InOrder: true,
		Reference: &charts.Mark{Value: 0, Label: "stay home"}}
	if ranking.Next == nil {
		return pic
	}
	in := func(minor float64) float64 { return math.Round(minor) / unit } // as the table rounds it
	pic.Reference.Value = in(ranking.Next.Model.Terms().Home)
	for _, s := range ranking.Expected() {
		next := s.Answer.Next
		pic.Rows = append(pic.Rows, charts.Interval{Label: s.Name, Note: plural(s.Answer.N, "trip", "trips"), Thin: s.Answer.Evidence == yield.NoTrips,
			Mean: in(next.Mean), Lo50: in(next.Half.Low), Hi50: in(next.Half.High), Lo90: in(next.Most.Low), Hi90: in(next.Most.High)})
	}
	return pic
}

func (a *app) chartNext(w http.ResponseWriter, r *http.Request) error {
	ranking, _, err := a.ranking(r)
	if err != nil {
		return err
	}
	return a.drawn(w, r, nextPicture(ranking))
}

// sendTable answers with a table as comma-separated values; cells that a
// spreadsheet would run are guarded.
func sendTable(w http.ResponseWriter, name string, rows [][]string) error {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`.csv"`)
	w.Header().Set("Cache-Control", "no-store")
	out := csv.NewWriter(w)
	for _, row := range rows {
		for i := range row {
			row[i] = db.GuardCell(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// plainNumber prints a number for a sheet.
func plainNumber(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', digits, 64)
}
