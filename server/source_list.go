package server

import (
	"errors"
	"net/http"

	"skepwood/analytics/yield"
	"skepwood/db"
)

// sourcesPage ranks the sources by what a pickup brings.
type sourcesPage struct {
	base
	Ranking *db.Ranking
	// Problem is why nothing could be valued, in words.
	Problem string
}

func (a *app) sourceList(w http.ResponseWriter, r *http.Request) error {
	page := &sourcesPage{base: a.base(r, "Sources")}
	ranking, err := a.store.Ranking(r.Context(), page.Env.Currency)
	if problem := valueProblem(err); problem != "" {
		page.Problem = problem
		page.Ranking = &db.Ranking{}
		return a.show(w, "source_list", page)
	}
	if err != nil {
		return err
	}
	page.Ranking = ranking
	return a.show(w, "source_list", page)
}

// valueProblem says in words why pickups cannot be valued, where a keeper can
// mend it; otherwise it returns "".
func valueProblem(err error) string {
	if errors.Is(err, yield.ErrCurrency) || errors.Is(err, yield.ErrNoRate) || errors.Is(err, yield.ErrPickup) {
		return err.Error()
	}
	return ""
}
