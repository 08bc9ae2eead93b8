package cut

// fewEnough is how many ways or patterns are compared with one another to
// leave out those that another one covers; more are kept as they are.
const fewEnough = 500

// shortlist is what ways or patterns make that are kept, the first of them.
type shortlist struct {
	kept []made
	full bool
}

// made is how many of which items are made, items ascending. has holds a bit
// for each item, modulo its size, and so tells most pairs apart at once.
type made struct {
	has   uint64
	items []int32
	n     []uint16
}

// add keeps what is made unless something kept makes as many of everything; it
// reports whether it did. Once fewEnough are kept it compares no more.
func (s *shortlist) add(items []int32, n []uint16) bool {
	if s.full {
		return true
	}
	m := made{items: items, n: n}
	for _, it := range items {
		m.has |= 1 << (it & 63)
	}
	for i := range s.kept {
		if s.kept[i].covers(&m) {
			return false
		}
	}
	s.kept = append(s.kept, m)
	s.full = len(s.kept) >= fewEnough
	return true
}

// covers reports whether a makes as many as b of everything.
func (a *made) covers(b *made) bool {
	if b.has&^a.has != 0 || len(b.items) > len(a.items) {
		return false
	}
	i := 0
	for j, it := range b.items {
		for i < len(a.items) && a.items[i] < it {
			i++
		}
		if i == len(a.items) || a.items[i] != it || a.n[i] < b.n[j] {
			return false
		}
	}
	return true
}
