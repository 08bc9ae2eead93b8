package cut

import "skepwood/analytics/wood"

// mostClearTrim is how much more than asked for may come off an end so that
// the cut misses metal: beyond it the metal is better pulled. Common practice,
// no source.
const mostClearTrim = 2 * wood.Inch

// Trims returns what comes off a board's left and right end: what is dirty and
// the rules' end trim, or its own ends alone, but no less than the kerf of the
// cut that takes it off. An end that nothing comes off is not cut.
func (r Rules) Trims(b ShopBoard) (start, end wood.Length) {
	trim := func(dirty wood.Length) wood.Length {
		if !b.OwnEnds {
			dirty += r.EndTrim
		}
		if dirty > 0 {
			dirty = max(dirty, r.CrosscutKerf)
		}
		return dirty
	}
	return trim(b.DirtyStart), trim(b.DirtyEnd)
}

// ClearTrims is Trims lengthened, by at most 2 in an end, so that neither cut
// meets metal or comes nearer to it than the cuts beside parts do. Where that
// does not do, the end stays as it is.
func (r Rules) ClearTrims(b ShopBoard) (start, end wood.Length) {
	start, end = r.Trims(b)
	near := r.besideMetal(r.CrosscutKerf)
	var left, right [][2]wood.Length
	for _, d := range b.Defects {
		if d.Metal {
			left = append(left, [2]wood.Length{d.X - near, d.X + d.DX + near})
			right = append(right, [2]wood.Length{b.Length - d.X - d.DX - near, b.Length - d.X + near})
		}
	}
	return r.clearTrim(start, left), r.clearTrim(end, right)
}

// clearTrim moves a trimming cut past metal that lies in it; spans are the
// metal's, from the end that is cut.
func (r Rules) clearTrim(asked wood.Length, metal [][2]wood.Length) wood.Length {
	off := asked
	for moved := off > 0; moved; {
		moved = false
		for _, m := range metal {
			if m[0] < off && m[1] > off-r.CrosscutKerf {
				off, moved = m[1]+r.CrosscutKerf, true
			}
		}
		if off > asked+mostClearTrim {
			return asked
		}
	}
	return off
}
