package cut

// On a clear line the order of pieces is of no matter: ways are counts, listed
// offer by offer, each once.

// plain reports whether the line meets no defect.
func (l *lineLister) plain() bool {
	for _, b := range l.bands {
		e := b.edges[0].reach
		if len(b.edges) != 1 || min(e[0], e[1], e[2]) < int32(l.n) {
			return false
		}
	}
	return true
}

// plainList is the state of a listing on a clear line.
type plainList struct {
	l      *lineLister
	offers []offer
	most   [][]float64 // by offer and room: what it and later ones can gain
	least  float64
	q      *quota
	n      []uint16
	ways   []stripWay
}

// listPlain lists the maximal ways on a clear line.
func (l *lineLister) listPlain(least float64, q *quota) []stripWay {
	pl := &plainList{l: l, least: least, q: q, n: make([]uint16, len(l.caps))}
	for _, b := range l.bands {
		pl.offers = append(pl.offers, b.offers...)
	}
	size := l.n + l.kerf + 1
	pl.most = make([][]float64, len(pl.offers)+1)
	pl.most[len(pl.offers)] = make([]float64, size)
	for o := len(pl.offers) - 1; o >= 0; o-- {
		row := append([]float64(nil), pl.most[o+1]...)
		step := int(pl.offers[o].l) + l.kerf
		for x := step; x < size; x++ {
			row[x] = max(row[x], row[x-step]+pl.offers[o].gain)
		}
		pl.most[o] = row
	}
	pl.grow(0, size-1, 0)
	sortWays(pl.ways)
	return pl.ways
}

// grow chooses how many of offer o to cut from the room left.
func (pl *plainList) grow(o, room int, gain float64) {
	if gain+pl.most[o][room] < pl.least || !pl.q.take() {
		return
	}
	if o == len(pl.offers) {
		pl.end(room, gain)
		return
	}
	step := int(pl.offers[o].l) + pl.l.kerf
	top := min(int(pl.l.caps[o]), room/step)
	for c := top; c >= 0; c-- {
		pl.n[o] = uint16(c)
		pl.grow(o+1, room-c*step, gain+float64(c)*pl.offers[o].gain)
	}
	pl.n[o] = 0
}

// end keeps a way to which no piece can be added.
func (pl *plainList) end(room int, gain float64) {
	first := false
	for o := range pl.offers {
		if pl.n[o] < pl.l.caps[o] && int(pl.offers[o].l)+pl.l.kerf <= room {
			return
		}
		first = first || o < pl.l.first && pl.n[o] > 0
	}
	if !first {
		return
	}
	w := stripWay{gain: gain}
	u := int32(0)
	for o, c := range pl.n {
		if c == 0 {
			continue
		}
		w.items, w.n = append(w.items, pl.l.items[o]), append(w.n, c)
		for range c {
			w.bits = append(w.bits, bit{pl.l.items[o], u, 0})
			u += pl.offers[o].l + int32(pl.l.kerf)
		}
	}
	pl.ways = append(pl.ways, w)
}

// quota bounds how much a listing may try.
type quota struct {
	left int
	stop func() bool
	out  bool // it was used up
}

// over reports whether the listing must end. Preparing one may take longer than
// it: a strip of a three-stage pattern is prepared like a board.
func (q *quota) over() bool {
	q.out = q.out || q.stop()
	return q.out
}

// take uses one up and reports whether there was one.
func (q *quota) take() bool {
	q.left--
	if q.left < 0 || q.left&1023 == 0 && q.stop() {
		q.out = true
	}
	return !q.out
}
