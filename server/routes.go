package server

import (
	"net/http"

	"github.com/go-chi/chi/v5"
)

// routes lists every address of the book.
func (a *app) routes(r chi.Router) {
	r.Get("/livez", a.livez)
	r.Get("/readyz", a.readyz)
	r.Get("/static/*", a.static.ServeHTTP)

	get := func(pattern string, h handler) { r.Get(pattern, a.handle(h)) }
	post := func(pattern string, h handler) { r.Post(pattern, a.handle(h)) }

	get("/", a.home)
	get("/sources", a.sourceList)
	get("/sources/new", a.sourceNew)
	post("/sources", a.sourceCreate)
	get("/sources/{id}", a.sourceShow)

	get("/pickups/new", a.pickupNew)
	post("/pickups", a.pickupCreate)
	get("/pickups/{id}", a.pickupShow)

	get("/lots/{id}", a.lotShow)
	post("/lots/{id}/findings", a.findingCreate)
	post("/lots/{id}/boards", a.boardCreate)
	get("/boards/{id}", a.boardShow)
	post("/boards/{id}/defects", a.defectCreate)
	post("/boards/{id}/readings", a.readingCreate)
	a.boardRoutes(get, post)

	get("/marks", a.markRead)
	get("/marks/card", a.markCard)
	get("/holds", a.holdList)
	post("/holds/findings", a.holdFinding)
	get("/rules", a.rulesShow)
	get("/rules.json", a.rulesDocument)
	get("/rules/policy", a.policyPreview)
	post("/rules/policy", a.policySave)
	post("/rules/apply", a.rulesApply)

	get("/desk", a.deskShow)
	get("/species", a.speciesList)
	get("/species/{id}", a.speciesShow)

	get("/stock", a.stockList)
	get("/book", a.bookList)
	get("/book/{kind}/{id}", a.entryShow)
	get("/book/{kind}/{id}/correct", a.entryEdit)
	post("/book/{kind}/{id}/correct", a.entryCorrect)
	post("/book/{kind}/{id}/strike", a.entryStrike)
	post("/book/{kind}/{id}/restore", a.entryRestore)

	get("/settings", a.settingsShow)
	post("/settings/units", a.settingsUnits)
	post("/settings/figures", a.settingsFigure)

	get("/import", a.importShow)
	post("/import", a.importUpload)
	get("/export.zip", a.exportZip)

	get("/drying", a.dryingList)
	get("/stacks/new", a.stackNew)
	post("/stacks", a.stackCreate)
	get("/stacks/{id}", a.stackShow)
	post("/stacks/{id}/boards", a.stackFill)
	post("/stacks/{id}/readings", a.stackRead)
	get("/calendar", a.calendarShow)
	post("/calendar", a.calendarCreate)
	post("/calendar/{id}/revoke", a.calendarRevoke)
	get("/calendar.ics", a.calendarFeed)
	get("/charts/stack/{id}.{format}", a.chartStack)

	get("/charts/yield.{format}", a.chartYield)
	get("/charts/fate.{format}", a.chartFate)
	get("/charts/value.{format}", a.chartValue)
	a.worthRoutes(get, post)
	a.buildRoutes(get, post)
	a.dryingRoutes(get, post)

	r.NotFound(a.handle(func(http.ResponseWriter, *http.Request) error {
		return &statusError{http.StatusNotFound, "There is no such page in the book."}
	}))
	r.MethodNotAllowed(a.handle(func(w http.ResponseWriter, req *http.Request) error {
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			if r.Match(chi.NewRouteContext(), method, req.URL.Path) {
				w.Header().Add("Allow", method)
			}
		}
		return &statusError{http.StatusMethodNotAllowed, "This page cannot be asked that way. Go back and use its form."}
	}))
}
