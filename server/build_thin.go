package server

import (
	"skepwood/analytics/cut"
	"skepwood/analytics/wood"
)

// thinRip is how wide a strip must be to lie between fence and blade with a push
// stick behind it: common practice, no source.
const thinRip = 3 * wood.Inch / 2

// thinWay is how a strip is ripped.
type thinWay int

const (
	// asUsual has the strip between fence and blade.
	asUsual thinWay = iota
	// alongFence has a thin strip fall off the far side, with the rest along the
	// fence.
	alongFence
	// underBlock has both pass under one push block, since both are thin: the
	// fence would stand at the blade, or in it.
	underBlock
)

// thin says how a cut goes: a thin strip falls off the far side if the rest is
// wide enough to lie between fence and blade.
func (c *cutter) thin(s cut.Step) thinWay {
	across := c.doc.Cut.Grid.Across
	switch {
	case s.Kind != cut.RipCut || across(s.Fence) >= thinRip:
		return asUsual
	case across(s.DY-s.Fence-s.Kerf) >= thinRip:
		return alongFence
	}
	return underBlock
}

// thinApart makes two settings of one whose strips go both ways: first those
// along the fence, since a board gets narrower with each cut.
func (c *cutter) thinApart(setups []cut.Setup) []cut.Setup {
	var out []cut.Setup
	for _, s := range setups {
		for way := asUsual; way <= underBlock; way++ {
			one := s
			one.Steps = nil
			for _, step := range s.Steps {
				if c.thin(step) == way {
					one.Steps = append(one.Steps, step)
				}
			}
			if len(one.Steps) > 0 {
				out = append(out, one)
			}
		}
	}
	return out
}

// settings counts the settings of all saws.
func (p *sheetPage) settings() (n int) {
	for _, saw := range p.Saws {
		n += len(saw.Setups)
	}
	return n
}
