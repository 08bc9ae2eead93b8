package cut

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestValidate names each fault and where it is.
func TestValidate(t *testing.T) {
	t.Parallel()
	good := func() Instance {
		return Instance{
			Pattern: Rip2, Objective: MaxValue, Kerf: Kerf{1, 1}, Boards: []Board{{Length: 10, Width: 5, Defects: []Defect{{1, 1, 2, 2, Top}}}},
			Parts: []Part{{Length: 3, Width: 2, Value: 1, Max: 2, Faces: 1}},
		}
	}
	require.NoError(t, good().Validate())
	for where, spoil := range map[string]func(*Instance){
		"pattern":                   func(in *Instance) { in.Pattern = "" },
		"objective":                 func(in *Instance) { in.Objective = "least_work" },
		"kerf":                      func(in *Instance) { in.Kerf.Rip = -1 },
		"boards[0]:":                func(in *Instance) { in.Boards[0].Width = 0 },
		"boards[0].cost":            func(in *Instance) { in.Boards[0].Cost = -1 },
		"boards[0].count":           func(in *Instance) { in.Boards[0].Count = -1 },
		"boards[1].id":              func(in *Instance) { in.Boards = append(in.Boards, in.Boards[0]) },
		"boards[0].defects[0]:":     func(in *Instance) { in.Boards[0].Defects[0].DX = 0 },
		"defects[0]: 9,1":           func(in *Instance) { in.Boards[0].Defects[0].X = 9 },
		"boards[0].defects[0].face": func(in *Instance) { in.Boards[0].Defects[0].Face = "left" },
		"parts[0]:":                 func(in *Instance) { in.Parts[0].Length = -3 },
		"parts[0].value":            func(in *Instance) { in.Parts[0].Value = -1 },
		"parts[0].faces":            func(in *Instance) { in.Parts[0].Faces = 3 },
		"parts[0].max":              func(in *Instance) { in.Parts[0].Max = -1 },
		"parts[0].min":              func(in *Instance) { in.Parts[0].Min = 3 },
		"parts[1].id":               func(in *Instance) { in.Parts = append(in.Parts, in.Parts[0]) },
	} {
		in := good()
		spoil(&in)
		_, err := Solve(context.Background(), in, Options{})
		require.ErrorIs(t, err, ErrInstance, where)
		require.ErrorContains(t, err, where)
		_, err = Greedy(in)
		require.ErrorIs(t, err, ErrInstance)
	}
}

// TestOddButSound plans what is strange and no fault: overlapping defects,
// kerf 0 and wider than the board, parts larger than any board, nothing.
func TestOddButSound(t *testing.T) {
	t.Parallel()
	for _, pattern := range []Pattern{Rip2, Crosscut2, Rip3, Crosscut3, Rip2Trim, Crosscut2Trim, Guillotine} {
		in := Instance{Pattern: pattern, Objective: MaxValue}
		require.Equal(t, Optimal, solved(t, in, time.Second).Status, "nothing at all")
		in.Boards = []Board{{ID: 0, Length: 10, Width: 5, Defects: []Defect{{1, 1, 3, 3, Top}, {2, 2, 3, 3, Both}, {2, 2, 3, 3, Both}}}}
		require.Zero(t, solved(t, in, time.Second).Value, "no parts")
		in.Parts = []Part{{ID: 0, Length: 11, Width: 1, Value: 9, Max: 1}, {ID: 1, Length: 1, Width: 1, Value: 1, Max: 500}, {ID: 2, Length: 2, Width: 2, Max: 3}}
		require.Equal(t, 50-9, solved(t, in, time.Second).Value, "kerf 0: every square off the through defect")
		in.Kerf = Kerf{100, 100}
		require.Equal(t, 1, solved(t, in, time.Second).Value, "a kerf wider than the board leaves one part")
		in.Boards = nil
		require.Zero(t, solved(t, in, time.Second).Value, "no boards")
		in.Objective, in.Parts = MinBoardCost, in.Parts[:1]
		require.Equal(t, Infeasible, solved(t, in, time.Second).Status)
	}
}

// TestDeadlines gives large instances a millisecond, then none at all, and a
// tenth of a second to stop after that, with much room for a busy machine.
func TestDeadlines(t *testing.T) {
	for _, r := range []recipe{
		{Rip2, MaxValue, 2000, 300, 400, 46, 6, 0.9}, {Crosscut2, MinBoardCost, 500, 60, 400, 46, 6, 0.5},
		{Rip3, MaxValue, 60, 30, 400, 46, 8, 0.8}, {Guillotine, MaxValue, 3, 30, 400, 200, 8, 0.8},
	} {
		in := generate(r, 1)
		for _, limit := range []time.Duration{time.Millisecond, 300 * time.Millisecond} {
			ctx, cancel := context.WithTimeout(context.Background(), limit)
			start := time.Now()
			plan, err := Solve(ctx, in, Options{})
			took := time.Since(start)
			cancel()
			require.NoError(t, err)
			require.NoError(t, Check(in, plan))
			require.Less(t, took, limit+2*time.Second, in.ID)
		}
	}
}

// TestCheckRefuses spoils a sound plan in each way that the checker knows.
func TestCheckRefuses(t *testing.T) {
	t.Parallel()
	in := Instance{
		Pattern: Rip2, Objective: MaxValue, Kerf: Kerf{1, 1},
		Boards: []Board{{Length: 11, Width: 5, Defects: []Defect{{0, 3, 1, 1, Top}}}, {ID: 1, Length: 11, Width: 5}},
		Parts:  []Part{{Length: 5, Width: 2, Value: 3, Max: 4, Faces: 2}, {ID: 1, Length: 4, Width: 2, Value: 1, Max: 1, Needs: 1}},
	}
	good := func() Plan {
		return Plan{Status: Bounded, Value: 9, Bound: 12, Gap: 1.0 / 3, Placements: []Placement{{X: 0, Y: 0}, {X: 6, Y: 0}, {X: 6, Y: 3}}}
	}
	require.NoError(t, Check(in, good()))
	for what, spoil := range map[string]func(*Plan){
		"placement on board 5": func(p *Plan) { p.Placements[0].Board = 5 },
		"placement of part 2":  func(p *Plan) { p.Placements[0].Part = 2 },
		"copy 1":               func(p *Plan) { p.Placements[0].Copy = 1 },
		"off the board":        func(p *Plan) { p.Placements[1].X = 7 },
		"lies on defect 0":     func(p *Plan) { p.Placements[2].X = 0 },
		"not all that":         func(p *Plan) { p.Placements[0].Part = 1 },
		"cannot be freed":      func(p *Plan) { p.Placements[1].X = 5 },
		"rip2 cuts":            func(p *Plan) { p.Placements[2].Y = 2 },
		"value 10 claimed":     func(p *Plan) { p.Value = 10 },
		"wrong side":           func(p *Plan) { p.Bound = 8 },
		"called optimal":       func(p *Plan) { p.Status = Optimal },
		"gap 0 claimed":        func(p *Plan) { p.Gap = 0 },
		"said to lack 1":       func(p *Plan) { p.Missing = []int{1, 0} },
		"at most 4": func(p *Plan) {
			p.Placements = append(p.Placements, Placement{Board: 1}, Placement{Board: 1, X: 6})
		},
	} {
		plan := good()
		spoil(&plan)
		err := Check(in, plan)
		require.ErrorIs(t, err, ErrPlan, what)
		require.ErrorContains(t, err, what)
	}
}

// FuzzParseCases feeds files of any form; what parses must also be valid.
func FuzzParseCases(f *testing.F) {
	for _, name := range []string{"solved", "gcut", "defect_plates", "one_dimensional"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "cutting", name+".json"))
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add([]byte(`{"stock_length": 9, "demand": [[1, 2], [3]]}`))
	f.Add([]byte(`{"board": {"length": 9}, "defects": [[1]]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		cases, _, err := ParseCases(data)
		if err != nil {
			require.ErrorIs(t, err, ErrInstance)
			require.NotEmpty(t, fmt.Sprint(err))
			return
		}
		for _, c := range cases {
			require.NoError(t, c.Instance.Validate())
		}
	})
}

// TestParseNames says where a file is wrong.
func TestParseNames(t *testing.T) {
	t.Parallel()
	for data, where := range map[string]string{
		``:                                         "ends too early",
		`{"pattern": "rip2"} {}`:                   "more follows",
		"{\n\"cases\": [{\"instance\": {,}}]}":     "line 2",
		`{"cases": [{}, 3]}`:                       "cases[0].boards: missing",
		`{"boards": [{"length": "long"}]}`:         "boards.length: line 1 of it: is a string; give a whole number",
		`[{"boards": []}]`:                         "file: line 1: is an array; give an object",
		`{"cases": {}}`:                            "file.cases: line 1: is an object; give a list",
		"\ufeff{\"boards\": [], \"kerf\": 1.5}":    "instance.kerf: line 1 of it: is a number 1.5; give a whole number",
		`{"boards": [], "pattern": 2}`:             "instance.pattern: line 1 of it: is a number; give a text",
		"{\n\"cases\": [\n{\n\"kerf\": \"1/8\"}]}": "cases[0].kerf: line 2 of it: is a string",
		`{"boards": [], "board": {}}`:              "board or boards, not both",
		`{"stock_length": 5, "demand": [[1,2,3]]}`: "demand[0]",
		`{"stock_length": 5, "pattern": "rip2"}`:   "leave it out",
		`{"board": {"length": 5, "width": 5}, "pattern": "rip2", "defects": [[1]]}`: "defects[0]",
		`{"instances": [{"boards": [], "pattern": "rip9"}]}`:                        `instances[0].pattern: "rip9"`,
	} {
		_, _, err := ParseCases([]byte(data))
		require.ErrorIs(t, err, ErrInstance)
		require.ErrorContains(t, err, where, data)
	}
}
