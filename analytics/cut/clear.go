package cut

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// edge is a place along a line where the clear stretch changes: from at on, a
// piece that needs level clear faces may start and run up to reach[level].
type edge struct {
	at    int32
	reach [levels]int32
}

// edgesOf returns the edges of a line of length n crossed by spots. A piece
// that needs one clear face may lie on bottom defects or on top defects, but
// not on some of both: its reach is the longer of the two.
func edgesOf(spots []spot, n int) []edge {
	cuts := []int{0}
	for _, s := range spots {
		cuts = append(cuts, s.u, s.u+s.du)
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	edges := make([]edge, 0, len(cuts))
	for _, at := range cuts {
		if at >= n {
			break
		}
		e := edge{at: int32(at)}
		e.reach[0] = clearFrom(spots, isThrough, at, n)
		e.reach[1] = max(clearFrom(spots, isThrough|onTop, at, n), clearFrom(spots, isThrough|onBottom, at, n))
		e.reach[2] = clearFrom(spots, isThrough|onTop|onBottom, at, n)
		if k := len(edges); k > 0 && edges[k-1].reach == e.reach {
			continue
		}
		edges = append(edges, e)
	}
	return edges
}

// clearFrom returns how far the line is free of spots on the given faces from
// at on; at itself where at is spoilt.
func clearFrom(spots []spot, faces uint8, at, n int) int32 {
	reach := n
	for _, s := range spots {
		if s.face&faces == 0 || s.u+s.du <= at {
			continue
		}
		reach = min(reach, max(s.u, at))
	}
	return int32(reach)
}

// span says that from v on, up to the next span, a strip meets the given line.
type span struct {
	v    int32
	line int32
}

// lineBand is the items of one shelf on a line with the given edges.
type lineBand struct {
	shelf int
	edges int32 // index into ground.edges; 0 is clear
}

// ground is what is known of a kind's defects whatever the prices: for each
// shelf, the different lines that a strip of its width can meet, and which of
// them it meets at every height.
type ground struct {
	edges [][]edge
	lines [][][]lineBand // by shelf, line
	spans [][]span       // by shelf; empty where the strip is too wide
}

// newGround maps the defects of a kind. A strip of a shelf gives that shelf's
// items or, where parts may be trimmed, also those of narrower shelves;
// shelves are sorted from wide to narrow.
func newGround(k kind, shelves []shelf, trim bool) *ground {
	g := &ground{
		edges: [][]edge{edgesOf(nil, k.L)},
		lines: make([][][]lineBand, len(shelves)), spans: make([][]span, len(shelves)),
	}
	classes := map[string]int32{"": 0}
	for i, s := range shelves {
		if s.w > k.W {
			continue
		}
		last := i + 1
		if trim {
			last = len(shelves)
		}
		index := map[string]int32{}
		for _, v := range bandEvents(k, shelves[i:last], s.w) {
			var bands []lineBand
			var key []uint32
			for t := i; t < last; t++ {
				class := g.classAt(k, v, shelves[t].w, classes)
				bands = append(bands, lineBand{t, class})
				key = append(key, uint32(class))
			}
			line, known := index[string(setKey(key))]
			if !known {
				line = int32(len(g.lines[i]))
				index[string(setKey(key))] = line
				g.lines[i] = append(g.lines[i], bands)
			}
			if n := len(g.spans[i]); n == 0 || g.spans[i][n-1].line != line {
				g.spans[i] = append(g.spans[i], span{int32(v), line})
			}
		}
	}
	return g
}

// classAt returns the edges that a band of width w at height v meets.
func (g *ground) classAt(k kind, v, w int, classes map[string]int32) int32 {
	var crossed []spot
	var ids []uint32
	for j, s := range k.spots {
		if s.v < v+w && v < s.v+s.dv {
			crossed = append(crossed, s)
			ids = append(ids, uint32(j))
		}
	}
	key := string(setKey(ids))
	class, known := classes[key]
	if !known {
		class = int32(len(g.edges))
		classes[key] = class
		g.edges = append(g.edges, edgesOf(crossed, k.L))
	}
	return class
}

// clear reports whether a line meets no defect.
func (g *ground) clear(shelf int, line int32) bool {
	for _, b := range g.lines[shelf][line] {
		if b.edges != 0 {
			return false
		}
	}
	return true
}

// bandEvents lists the heights, for a strip of width w, at which some shelf's
// band starts or stops meeting a defect.
func bandEvents(k kind, shelves []shelf, w int) []int {
	events := []int{0}
	for _, s := range k.spots {
		add := func(v int) {
			if v > 0 && v+w <= k.W {
				events = append(events, v)
			}
		}
		add(s.v + s.dv)
		for _, sh := range shelves {
			add(s.v - sh.w + 1)
		}
	}
	slices.Sort(events)
	return slices.Compact(events)
}

// setKey writes a set of small numbers as a map key.
func setKey(ids []uint32) []byte {
	key := make([]byte, 0, 4*len(ids))
	for _, id := range ids {
		key = binary.LittleEndian.AppendUint32(key, id)
	}
	return key
}

// lineAt returns the line that a strip meets at height v.
func lineAt(spans []span, v int) int32 {
	i, found := slices.BinarySearchFunc(spans, int32(v), func(s span, v int32) int { return cmp.Compare(s.v, v) })
	if !found {
		i--
	}
	return spans[i].line
}
