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
	cover           string
	standsToThisDay bool
	// moved is the day it was carried from the yard into the lean-to, or 0.
	moved int
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
			p = pile{place: "behind the shed", first: day, cover: "open", standsToThisDay: true}
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
	p := pile{place: "lean-to", first: first, last: first + pileStand, cover: "roof", standsToThisDay: first+pileStand >= days}
	if window == 1 && place == "stack B" { // no room under the lean-to at first
		p.place, p.cover, p.moved = "yard corner", "open", first+12
	}
	g.piles[name] = p
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
		if p.moved > 0 {
			g.row("moves", g.evening(p.moved, 60), name, g.date(p.moved), "lean-to", "roof", "the winter's stack made room")
		}
		g.row("stacks", g.evening(p.first, 60), name, p.place, p.cover, g.date(p.first), down, "", "", "")
	}
}
