package server

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"skepwood/analytics/yield"
	"skepwood/charts"
	"skepwood/db"
)

// drawn answers with a picture at its own address: inlined, its colours would
// fall to the Content-Security-Policy.
func (a *app) drawn(w http.ResponseWriter, r *http.Request, picture charts.Picture) error {
	style, err := styleOf(r)
	if err != nil {
		return err
	}
	format := charts.Format(chi.URLParam(r, "format"))
	if format != charts.SVG && format != charts.PNG {
		return &statusError{http.StatusNotFound, "Pictures come as svg or png."}
	}
	bytes, err := charts.Render(picture, format, style)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(bytes)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "no-cache")
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	w.Header().Set("Content-Type", format.ContentType())
	_, err = w.Write(bytes)
	return err
}

// styleOf reads theme and width from the address.
func styleOf(r *http.Request) (charts.Style, error) {
	q := r.URL.Query()
	s := charts.Style{Theme: charts.Light}
	if q.Get("theme") == "dark" {
		s.Theme = charts.Dark
	}
	if text := q.Get("width"); text != "" {
		width, err := strconv.Atoi(text)
		if err != nil || width < charts.MinWidth || width > charts.MaxWidth {
			return s, &statusError{http.StatusBadRequest, "The width of a picture is a number from " + strconv.Itoa(charts.MinWidth) + " to " + strconv.Itoa(charts.MaxWidth) + "."}
		}
		s.Width = width
	}
	return s, nil
}

// ranking is what the source charts draw; a book that cannot be valued yet
// has an empty one, and its picture says so.
func (a *app) ranking(r *http.Request) (*db.Ranking, base, error) {
	b := a.base(r, "")
	ranking, err := a.store.Ranking(r.Context(), b.Env.Currency)
	if valueProblem(err) != "" {
		return &db.Ranking{Currency: b.Env.Currency}, b, nil
	}
	return ranking, b, err
}

func (a *app) chartYield(w http.ResponseWriter, r *http.Request) error {
	ranking, b, err := a.ranking(r)
	if err != nil {
		return err
	}
	return a.drawn(w, r, yieldPicture(ranking, b.Env))
}

func (a *app) chartFate(w http.ResponseWriter, r *http.Request) error {
	ranking, b, err := a.ranking(r)
	if err != nil {
		return err
	}
	return a.drawn(w, r, fatePicture(ranking, b.Env))
}

func (a *app) chartValue(w http.ResponseWriter, r *http.Request) error {
	ranking, _, err := a.ranking(r)
	if err != nil {
		return err
	}
	picture, err := valuePicture(ranking)
	if err != nil {
		return err
	}
	return a.drawn(w, r, picture)
}

// yieldPicture shows usable wood a pickup, source by source.
func yieldPicture(ranking *db.Ranking, env db.Env) charts.Yields {
	pic := charts.Yields{Title: "Usable wood a pickup, by source", Unit: volumeUnit(env) + " a pickup"}
	for _, s := range ranking.Sources {
		if s.Plain == nil {
			continue
		}
		f := s.Plain.UsablePerPickup
		row := charts.Interval{Label: s.Name, Note: plural(s.N, "pickup", "pickups"), Mean: volumeIn(env, f.Value), Thin: !f.Known,
			Lo90: volumeIn(env, max(0, f.Low)), Hi90: volumeIn(env, f.High), Lo50: volumeIn(env, max(0, f.Low50)), Hi50: volumeIn(env, f.High50)}
		pic.Rows = append(pic.Rows, row)
	}
	return pic
}

// fatePicture shows what became of each source's wood.
func fatePicture(ranking *db.Ranking, env db.Env) charts.Fates {
	return fatePictureOf(ranking.Sources, env)
}

func fatePictureOf(sources []db.RankedSource, env db.Env) charts.Fates {
	pic := charts.Fates{Unit: volumeUnit(env)}
	for _, s := range sources {
		o := s.Outcome
		if o.Gross() == 0 {
			continue
		}
		pic.Rows = append(pic.Rows, charts.Fate{Label: s.Name, Note: volumeText(env, o.Gross()) + " " + volumeUnit(env),
			Inside: volumeIn(env, o.GrossInside), Outside: volumeIn(env, o.GrossOutside), Hold: volumeIn(env, o.GrossHold),
			Never: volumeIn(env, o.GrossNever), NotOurs: volumeIn(env, o.GrossStopped), Lost: volumeIn(env, o.GrossLost)})
	}
	return pic
}

// valuePicture shows what the log has won against what it has cost.
func valuePicture(ranking *db.Ranking) (charts.CumulativeValue, error) {
	pic := charts.CumulativeValue{Unit: ranking.Currency}
	unit := yield.MinorPerMajor(ranking.Currency)
	var value, cost float64
	pic.Points = make([]charts.Worth, 0, len(ranking.Trips))
	err := yield.ValueEach(ranking.Trips, ranking.Prices, func(i int, worth yield.Worth) {
		value += worth.Wood / unit
		cost += (worth.Driving + worth.Cash + worth.Disposal + worth.Time) / unit
		pic.Points = append(pic.Points, charts.Worth{When: ranking.Trips[i].Date, Value: value, Cost: cost})
	})
	return pic, err
}
