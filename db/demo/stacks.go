package demo

import (
	"slices"
	"strings"
)

// The club puts up a new stack at each of its two places every six weeks and
// takes it down twelve weeks after it began.
const (
	pileDays  = 42
	pileStand = 84
)

// pile is one stack of the log; days count from the log's start.
type pile struct {
	place           string
	first, last     int
	cover, air      string
	humidity        string
	standsToThisDay bool
}

// pile notes the stack that a board of this place and day goes into and
// returns its name; boards on a rack go into none.
func (g *generator) pile(place string, day int) string {
	if !strings.Contains(place, "stack") {
		return ""
	}
	if place == "winter stack" {
		p, known := g.piles[place]
		if !known {
			// In the open, damp as it is there, its wood never gets below 16 %.
			p = pile{place: "behind the shed", first: day, cover: "open", air: "8 C", humidity: "81", standsToThisDay: true}
		}
		p.first, p.last = min(p.first, day), max(p.last, day)
		g.piles[place] = p
		return place
	}
	window := (days - 1 - day) / pileDays // 0 is the newest
	first := max(0, days-1-(window+1)*pileDays+1)
	name := place
	if window > 0 {
		name += ", from " + g.start.AddDate(0, 0, first).Format("2 Jan 2006")
	}
	g.piles[name] = pile{place: "lean-to", first: first, last: first + pileStand, cover: "roof", air: "13 C", humidity: "60", standsToThisDay: first+pileStand >= days}
	return name
}

// stacks writes the stacks that boards went into.
func (g *generator) stacks() {
	var names []string
	for name := range g.piles {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		p := g.piles[name]
		down := ""
		if !p.standsToThisDay {
			down = g.date(p.last)
		}
		g.row("stacks", g.evening(p.first, 60), name, p.place, p.cover, g.date(p.first), down, "", p.air, p.humidity)
	}
}
