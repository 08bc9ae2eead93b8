package cut

// stripEngine knows two-stage patterns: strips exactly as wide as their parts
// or, with trim, as wide as the widest.
type stripEngine struct {
	p       *problem
	trim    bool
	grounds []*ground
	shelfs  [][]shelfPrice // by group, shelf
}

// shelfPrice is a shelf at current gains: its own offers and the table of a
// clear strip of its width.
type shelfPrice struct {
	offers []offer
	clear  []float64 // by line length plus kerf; nil where nothing gains
}

// newStripEngine maps the defects of all kinds.
func newStripEngine(p *problem) *stripEngine {
	e := &stripEngine{p: p, trim: p.in.Pattern == Rip2Trim || p.in.Pattern == Crosscut2Trim}
	for _, k := range p.kinds {
		if p.stop() { // nothing is priced after the stop
			break
		}
		e.grounds = append(e.grounds, newGround(k, p.groups[k.group].shelves, e.trim))
	}
	return e
}

// prepare computes the offers and clear tables of every shelf.
func (e *stripEngine) prepare(gain []float64) {
	e.shelfs = make([][]shelfPrice, len(e.p.groups))
	for gi, g := range e.p.groups {
		e.shelfs[gi] = make([]shelfPrice, len(g.shelves))
		for si := range g.shelves {
			if e.p.stop() {
				return
			}
			sp := &e.shelfs[gi][si]
			sp.offers = offersOf(e.p.items, g.shelves[si].items, gain)
			all := sp.offers
			if e.trim {
				all = offersOf(e.p.items, g.itemsFrom(si), gain)
			}
			if len(all) > 0 {
				sp.clear = clearLine(all, g.maxL, e.p.ku)
			}
		}
	}
}

// itemsFrom lists the items of a shelf and all narrower ones.
func (g *group) itemsFrom(shelf int) []int {
	var items []int
	for _, s := range g.shelves[shelf:] {
		items = append(items, s.items...)
	}
	return items
}

// worker returns a pricer of its own scratch space.
func (e *stripEngine) worker() pricer { return &stripPricer{e: e} }
