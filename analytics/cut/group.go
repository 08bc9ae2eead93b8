package cut

import (
	"cmp"
	"slices"
)

// Setup is one saw set to one distance and the cuts made with it.
type Setup struct {
	Stage int
	Kind  CutKind
	Fence int
	Steps []Step
}

// Sheet lists every cut of a plan, grouped so that the fence moves least.
// Moves counts the settings of fence and stop, BoardOrder what they would be
// if each board were cut to the end before the next is fetched; the saving is
// the difference.
type Sheet struct {
	Setups     []Setup
	Moves      int
	BoardOrder int
}

// GroupCuts lists a plan's cuts by saw setup. All boards go through a stage
// before any goes through the next; the cuts of one piece keep their order,
// since each refers to the edge that the one before left. Finding the fewest
// settings is a shortest common supersequence, for which no fast exact method
// is known; three merging rules are tried and the best is taken. Errors match
// ErrPlan.
func GroupCuts(in Instance, plan Plan) (Sheet, error) {
	steps, err := Steps(in, plan)
	if err != nil {
		return Sheet{}, err
	}
	sheet := Sheet{BoardOrder: boardOrder(steps)}
	for _, stage := range stages(steps) {
		var best []Setup
		for rule := range 3 {
			if got := merge(chains(steps, stage), rule); best == nil || len(got) < len(best) {
				best = got
			}
		}
		sheet.Setups = append(sheet.Setups, best...)
	}
	sheet.Moves = len(sheet.Setups)
	return sheet, nil
}

// boardOrder counts how often fence or stop are set anew when the steps are
// made one after the other; each saw keeps its own setting.
func boardOrder(steps []Step) int {
	set := map[CutKind]int{}
	moves := 0
	for _, s := range steps {
		if set[s.Kind] != s.Fence {
			set[s.Kind] = s.Fence
			moves++
		}
	}
	return moves
}

// stageKind is a stage at one saw.
type stageKind struct {
	stage int
	kind  CutKind
}

// stages lists the stages in order; where boards differ in which saw a stage
// needs, it is two.
func stages(steps []Step) []stageKind {
	var all []stageKind
	for _, s := range steps {
		if k := (stageKind{s.Stage, s.Kind}); !slices.Contains(all, k) {
			all = append(all, k)
		}
	}
	slices.SortFunc(all, func(a, b stageKind) int { return cmp.Or(a.stage-b.stage, cmp.Compare(b.kind, a.kind)) })
	return all
}

// chains lists, for each piece that a stage cuts, its cuts in order. A piece
// is told by its board and its extent along the cut.
func chains(steps []Step, stage stageKind) [][]Step {
	type piece struct{ board, copy, from, size, end int }
	index := map[piece]int{}
	var all [][]Step
	for _, s := range steps {
		if s.Stage != stage.stage || s.Kind != stage.kind {
			continue
		}
		from, size := s.Kind.other().span(s.X, s.Y, s.DX, s.DY)
		low, across := s.Kind.span(s.X, s.Y, s.DX, s.DY)
		key := piece{s.Board, s.Copy, from, size, low + across}
		at, known := index[key]
		if !known {
			at = len(all)
			index[key] = at
			all = append(all, nil)
		}
		all[at] = append(all[at], s)
	}
	return all
}

// merge makes setups out of chains: again and again the setting that most
// wants (by rule: most chains, most cuts still to come behind it, or the
// longest chain) is made and every chain that can goes on with it.
func merge(chains [][]Step, rule int) []Setup {
	var setups []Setup
	for {
		score := map[int]int{}
		for _, c := range chains {
			if len(c) == 0 {
				continue
			}
			switch f := c[0].Fence; rule {
			case 0:
				score[f]++
			case 1:
				score[f] += len(c)
			default:
				score[f] = max(score[f], len(c))
			}
		}
		if len(score) == 0 {
			return setups
		}
		fence, top := 0, -1
		for f, v := range score {
			if v > top || v == top && f > fence {
				fence, top = f, v
			}
		}
		var setup Setup
		for i := range chains {
			for len(chains[i]) > 0 && chains[i][0].Fence == fence {
				setup.Steps = append(setup.Steps, chains[i][0])
				chains[i] = chains[i][1:]
			}
		}
		setup.Stage, setup.Kind, setup.Fence = setup.Steps[0].Stage, setup.Steps[0].Kind, fence
		setups = append(setups, setup)
	}
}
