package server

import (
	"html/template"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

// dryingRoutes lists the addresses of places, of what happens to stacks, and of
// the guess of a wood.
func (a *app) dryingRoutes(get, post func(string, handler)) {
	get("/drying/places", a.placeList)
	get("/drying/place", a.placeShow)
	post("/drying/place", a.placeSave)
	post("/import/logger", a.loggerImport)
	post("/stacks/{id}/moves", a.stackMove)
	post("/stacks/{id}/out", a.stackTakeOut)
	post("/stacks/{id}/down", a.stackTakeDown)
	get("/guess", a.guessShow)
	post("/boards/{id}/guess", a.guessRecord)
}

// moistureFuncs are what the templates of drying print with.
func moistureFuncs() template.FuncMap {
	return template.FuncMap{
		"span":        spanText,
		"highest":     highestMonth,
		"temperature": temperatureText,
		"stepValue":   stepValue,
		"cover":       coverText,
		"guessed":     func(b db.Board) string { return guessText(b.Shares(), 4) },
	}
}

// highestMonth is the dampest month's equilibrium moisture, percent.
func highestMonth(c moisture.Climate) float64 {
	high := c.EMC[0]
	for _, e := range c.EMC {
		high = max(high, e)
	}
	return high
}

// temperatureText prints a temperature in the keeper's unit.
func temperatureText(env db.Env, c *float64) string {
	if c == nil {
		return "—"
	}
	if env.Temperature == "F" {
		return tenths(*c*1.8+32) + " °F"
	}
	return tenths(*c) + " °C"
}

// coverText says what stands between a stack and the weather.
func coverText(cover string) string {
	switch cover {
	case "open":
		return "open to the weather"
	case "roof":
		return "under a roof"
	case "shed":
		return "in a shed"
	}
	return "in a heated room"
}
