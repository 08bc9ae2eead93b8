package db_test

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
	"skepwood/db"
)

// derivedRows prints everything that follows from entries, to the last bit.
func (b *bench) derivedRows(t testing.TB) []string {
	t.Helper()
	rows, err := b.store.Pool().Query(t.Context(), `SELECT code || ' ' || (verdict, ownership_stop, reasons, gross_m3, usable_m3, mapped)::text FROM board
		UNION ALL SELECT code || ' ' || (verdict, ownership_stop, reasons, rule_version, boards, estimated, unknown, gross_inside_m3, gross_outside_m3, gross_hold_m3,
			gross_never_m3, gross_stopped_m3, gross_lost_m3, usable_inside_m3, usable_outside_m3, usable_hold_m3)::text FROM lot
		UNION ALL SELECT id::text || ' ' || (lots, boards, gross_inside_m3, gross_outside_m3, gross_hold_m3, gross_never_m3, gross_stopped_m3, gross_lost_m3,
			usable_inside_m3, usable_outside_m3, usable_hold_m3)::text FROM pickup ORDER BY 1`)
	require.NoError(t, err)
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	return list
}

// woodWriter makes entries at random that change what follows for some boards
// of two lots.
type woodWriter struct {
	*bench
	rng    *rand.Rand
	lots   []db.Entry
	boards []uuid.UUID
}

// pick returns a board as it is now.
func (w *woodWriter) pick(t *testing.T) db.Entry {
	t.Helper()
	e, err := db.Boards.Load(t.Context(), w.store, w.boards[w.rng.IntN(len(w.boards))], w.env)
	require.NoError(t, err)
	return e
}

func (w *woodWriter) edit(e db.Entry) db.Edit {
	return db.Edit{ID: e.ID, Version: e.Version, Keeper: w.keeper.ID, Why: "looked again", Env: w.env}
}

// live lists entries of a kind that hang on a board.
func (w *woodWriter) on(t *testing.T, kind db.EntryKind, board uuid.UUID) []db.Entry {
	t.Helper()
	rows, err := w.store.Pool().Query(t.Context(), "SELECT id FROM "+kind.Name()+" WHERE board_id = $1 ORDER BY id", board)
	require.NoError(t, err)
	ids, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	require.NoError(t, err)
	var list []db.Entry
	for _, id := range ids {
		e, err := kind.Load(t.Context(), w.store, id, w.env)
		require.NoError(t, err)
		list = append(list, e)
	}
	return list
}

// write makes one entry and returns what it was. What the book refuses is as
// good: then nothing may change.
func (w *woodWriter) write(t *testing.T) (string, error) {
	t.Helper()
	e := w.pick(t)
	id := e.ID
	switch w.rng.IntN(11) {
	case 0:
		like := w.loadBoard(t, id)
		like.Base, like.Code, like.Label, like.Parent = db.Base{KeeperID: w.keeper.ID}, "", "", db.Ref{}
		edge := []grade.Defect{{Kind: "wane", Face: "both", X: 0, Y: 0, DX: wood.Inch, DY: wood.Inch / 2}}
		added, err := w.store.AddBoardsWith(t.Context(), like, 3, edge[:w.rng.IntN(2)])
		for _, a := range added {
			if err == nil {
				w.boards = append(w.boards, a.ID)
			}
		}
		return "boards alike", err
	case 1:
		_, err := db.Defects.Add(t.Context(), w.store, db.Base{KeeperID: w.keeper.ID}, map[string]string{"board": e.Values["code"], "kind": "knot", "face": "both",
			"x": inches(w.rng.IntN(100)), "y": inches(w.rng.IntN(8)), "dx": "1/2", "dy": "3/4"}, w.env)
		return "a defect", err
	case 2:
		values := map[string]string{"lot": e.Values["lot"], "kind": "mark", "value": "IPPC US-1234 HT"}
		if w.rng.IntN(3) > 0 { // on the board alone, and for what is cut from it
			values["board"], values["kind"], values["value"] = e.Values["code"], "tag", "CCA"
		}
		_, err := db.Findings.Add(t.Context(), w.store, db.Base{KeeperID: w.keeper.ID}, values, w.env)
		return "a finding", err
	case 3:
		cut := db.BoardCut{Board: id, Keeper: w.keeper.ID, Why: "in two", RipKerf: quarter, CrosscutKerf: quarter, Pieces: []db.BoardPiece{{Rect: rect(0, 0, 50, 8)}, {Rect: rect(51, 0, 41, 8)}}}
		done, err := w.store.CutBoard(t.Context(), cut)
		for _, p := range done.Pieces {
			w.boards = append(w.boards, p.ID)
		}
		return "a cut", err
	case 4:
		if e.Struck() {
			return "a board restored", db.Boards.Restore(t.Context(), w.store, w.edit(e))
		}
		return "a board struck", db.Boards.Strike(t.Context(), w.store, w.edit(e))
	case 5:
		_, err := db.Boards.Correct(t.Context(), w.store, w.edit(e), map[string]string{"length": inches(110 + w.rng.IntN(30)), "lot": w.lots[w.rng.IntN(2)].Values["code"]})
		return "a board corrected", err
	case 6:
		_, err := w.store.MarkBoards(t.Context(), db.BoardMark{Board: id, Keeper: w.keeper.ID, Column: "looked_over", Value: []string{"yes", "no"}[w.rng.IntN(2)], Why: "seen"})
		return "a mark", err
	case 7:
		kind := []db.EntryKind{db.Defects, db.Findings}[w.rng.IntN(2)]
		for _, d := range w.on(t, kind, id) {
			if d.Struck() {
				return kind.Name() + " restored", kind.Restore(t.Context(), w.store, w.edit(d))
			}
			if w.rng.IntN(2) == 0 && kind == db.EntryKind(db.Defects) {
				_, err := kind.Correct(t.Context(), w.store, w.edit(d), map[string]string{"board": w.pick(t).Values["code"]})
				return "a defect moved", err
			}
			return kind.Name() + " struck", kind.Strike(t.Context(), w.store, w.edit(d))
		}
		return "nothing", nil
	case 8, 9:
		return w.sheet(t, e)
	default:
		lot := w.loadBoard(t, id).Lot.ID
		done, err := w.store.PutPattern(t.Context(), db.DefectPattern{Lot: lot, Keeper: w.keeper.ID, Note: "a row", On: func(b grade.Board) ([]grade.Defect, error) {
			return []grade.Defect{{Kind: "nail_hole", Face: "both", X: wood.Length(w.rng.IntN(9)) * wood.Inch, Y: wood.Inch, DX: wood.Inch / 4, DY: wood.Inch / 4}}, nil
		}})
		if err == nil && w.rng.IntN(2) == 0 && done.Defects > 0 {
			_, err = w.store.StrikePattern(t.Context(), done.Name, w.keeper.ID, "not there")
			return "a pattern taken back", err
		}
		return "a pattern", err
	}
}

// sheet imports some rows that hang on a board or its lot: a board that it was
// the parent of, findings on either, a defect.
func (w *woodWriter) sheet(t *testing.T, e db.Entry) (string, error) {
	t.Helper()
	code, lot := e.Values["code"], e.Values["lot"]
	var sheets []db.Sheet
	what := ""
	add := func(name, header, row string) {
		sheets = append(sheets, sheet(name+".csv", header+"\n"+row+"\n"))
		what += " " + name
	}
	if w.rng.IntN(2) == 0 {
		add("boards", "lot,parent,thickness,width,length", lot+","+[]string{"", code}[w.rng.IntN(2)]+",1,"+inches(40+w.rng.IntN(20))+","+inches(80+w.rng.IntN(50)))
	}
	if w.rng.IntN(2) == 0 {
		add("findings", "lot,board,kind,value,note", lot+","+[]string{"", code}[w.rng.IntN(2)]+","+[]string{"mark,IPPC US-1234 HT", "tag,CCA"}[w.rng.IntN(2)]+",row "+inches(w.rng.IntN(1e6)))
	}
	if w.rng.IntN(2) == 0 {
		add("defects", "board,kind,face,x,y,dx,dy", code+",knot,both,"+inches(w.rng.IntN(100))+","+inches(w.rng.IntN(8))+",1/2,3/4")
	}
	if len(sheets) == 0 {
		return "nothing", nil
	}
	report := w.read(t, false, sheets...)
	if report.FaultCount > 0 {
		return what, db.FieldErrors{}
	}
	var ids []uuid.UUID
	rows, err := w.store.Pool().Query(t.Context(), "SELECT id FROM board ORDER BY received_at DESC, id")
	require.NoError(t, err)
	ids, err = pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	require.NoError(t, err)
	w.boards = ids
	return "a sheet of" + what, nil
}

// TestDerivingSomeBoardsIsDerivingAll writes at random and compares, after each
// entry, what follows for the boards that changed, their lots and pickups with
// what follows when everything is derived anew.
func TestDerivingSomeBoardsIsDerivingAll(t *testing.T) {
	t.Parallel()
	b := setup(t)
	w := &woodWriter{bench: b, rng: rand.New(rand.NewPCG(7, 11)), lots: []db.Entry{b.lot(t)}}
	w.lots = append(w.lots, b.add(t, db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "pallet", "broken": "1"}))
	for i := range 6 {
		w.boards = append(w.boards, b.boardOf(t, w.lots[i%2], 9+i, 110+10*i, nil).ID)
	}
	done := map[string]int{}
	for range 220 {
		what, err := w.write(t)
		if err != nil {
			_, refused := err.(db.FieldErrors) //nolint:errorlint // the book's own, unwrapped
			require.True(t, refused, "%s: %v", what, err)
			continue
		}
		done[what]++
		before := b.derivedRows(t)
		_, err = b.store.Recompute(t.Context(), nil)
		require.NoError(t, err)
		require.Equal(t, before, b.derivedRows(t), what)
	}
	require.GreaterOrEqual(t, len(done), 16, "%v", done)
	sheets := 0
	for what, n := range done {
		if strings.HasPrefix(what, "a sheet") {
			sheets += n
		}
	}
	require.GreaterOrEqual(t, sheets, 15, "%v", done)
}

// TestImportedPolicyJudgesEverything imports a choice of the house, a width of it
// and old rules' lots into a book with wood: nothing may stay as it was judged.
func TestImportedPolicyJudgesEverything(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 MB"})
	board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48"})
	b.add(t, db.Defects, map[string]string{"board": board.Values["code"], "kind": "nail_hole", "face": "both", "x": "12", "y": "1", "dx": "1/4", "dy": "1/4", "metal": "yes"})
	recomputed := func() {
		before := b.derivedRows(t)
		_, err := b.store.Recompute(t.Context(), nil)
		require.NoError(t, err)
		require.Equal(t, before, b.derivedRows(t))
	}
	for _, s := range []db.Sheet{sheet("allowances.csv", "name,size\n"+db.MetalClearance+",1 1/2 in\n"), sheet("policies.csv", "setting,verdict\nS04,never\n")} {
		was := b.derivedRows(t)
		report := b.read(t, false, s)
		require.Empty(t, report.Faults)
		require.Equal(t, 1, report.Sheets[0].Added)
		require.NotEqual(t, was, b.derivedRows(t), "or it changes nothing here")
		recomputed()
	}

	_, err := b.owner(t).Exec(t.Context(), "UPDATE lot SET rule_version = 'before'; UPDATE board SET verdict = 'never'")
	require.NoError(t, err)
	require.Empty(t, b.read(t, false, sheet("boards.csv", "lot,thickness,width,length\n"+lot.Values["code"]+",1,4,40\n")).Faults)
	recomputed()
}

// TestBoardsAlikeNumberOnWithoutGaps adds boards, sends the same form again and
// with more boards, and adds one by itself.
func TestBoardsAlikeNumberOnWithoutGaps(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	like := db.Board{Base: db.Base{ID: uuid.New(), KeeperID: b.keeper.ID}, Lot: db.Ref{ID: lot.ID}, Thickness: wood.Inch, Width: 4 * wood.Inch, Length: 40 * wood.Inch, State: "rack", Metal: "not_swept"}
	for _, n := range []int{3, 3, 5} {
		_, err := b.store.AddBoards(t.Context(), like, n)
		require.NoError(t, err)
	}
	b.boardOf(t, lot, 12, 100, nil)
	rows, err := b.store.Pool().Query(t.Context(), "SELECT code FROM board ORDER BY code")
	require.NoError(t, err)
	codes, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	var numbers []string
	for _, c := range codes {
		_, n, _ := strings.Cut(c, "-")
		numbers = append(numbers, n)
	}
	require.Equal(t, []string{"1", "2", "3", "4", "5", "6"}, numbers)
}

// TestOldRulesJudgeTheWholeLot adds a board to a lot that other rules judged:
// none of its boards may stay as it was.
func TestOldRulesJudgeTheWholeLot(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
	old := b.boardOf(t, lot, 12, 100, nil)
	_, err := b.owner(t).Exec(context.Background(), "UPDATE lot SET rule_version = 'before'; UPDATE board SET verdict = 'never'")
	require.NoError(t, err)
	b.boardOf(t, lot, 12, 100, nil)
	var verdict string
	require.NoError(t, b.store.Pool().QueryRow(t.Context(), "SELECT verdict FROM board WHERE id = $1", old.ID).Scan(&verdict))
	require.Equal(t, "inside", verdict)
}

// BenchmarkAddBoards adds 500 boards alike, and one, to a lot that has 10,000;
// the ratio is to adding as many to a lot that has none.
func BenchmarkAddBoards(tb *testing.B) {
	b := setup(tb)
	b.fill(tb, 1, 10_000)
	owner := b.owner(tb)
	_, err := owner.Exec(context.Background(), "VACUUM ANALYZE")
	require.NoError(tb, err)
	lots := map[string]uuid.UUID{}
	var full uuid.UUID
	require.NoError(tb, owner.QueryRow(tb.Context(), "SELECT id FROM lot").Scan(&full))
	for _, n := range []int{1, 500} {
		tb.Run(map[int]string{1: "one", 500: "many"}[n], func(tb *testing.B) {
			var times [2][]time.Duration
			for range tb.N {
				lots["full"] = full
				lots["empty"] = b.add(tb, db.Lots, map[string]string{"pickup": testNow.AddDate(0, 0, -1).Format(time.DateOnly) + " Place 1", "kind": "crate"}).ID
				for i, name := range []string{"full", "empty"} {
					like := db.Board{Base: db.Base{KeeperID: b.keeper.ID}, Lot: db.Ref{ID: lots[name]}, Thickness: wood.Inch, Width: 4 * wood.Inch, Length: 40 * wood.Inch, State: "rack", Metal: "not_swept"}
					began := time.Now()
					_, err := b.store.AddBoards(tb.Context(), like, n)
					times[i] = append(times[i], time.Since(began))
					require.NoError(tb, err)
				}
			}
			slices.Sort(times[0])
			slices.Sort(times[1])
			fullTime, emptyTime := times[0][tb.N/2], times[1][tb.N/2]
			tb.ReportMetric(float64(fullTime.Milliseconds()), "ms-median")
			tb.ReportMetric(fullTime.Seconds()/emptyTime.Seconds(), "ratio-to-empty-lot")
		})
	}
}

// TestFindingsFollowTheirBoard moves a board with a finding of its own to
// another lot: what was found on it still decides its verdict.
func TestFindingsFollowTheirBoard(t *testing.T) {
	t.Parallel()
	b := setup(t)
	first := b.lot(t)
	other := b.add(t, db.Lots, map[string]string{"pickup": "2026-03-01 Harbour Tile", "kind": "pallet"})
	for _, lot := range []db.Entry{first, other} {
		b.add(t, db.Findings, map[string]string{"lot": lot.Values["code"], "kind": "mark", "value": "IPPC US-1234 HT"})
	}
	board := b.boardOf(t, first, 12, 100, nil)
	tag := b.add(t, db.Findings, map[string]string{"lot": first.Values["code"], "board": board.Code, "kind": "tag", "value": "CCA"})
	edit := func(id uuid.UUID, version int) db.Edit {
		return db.Edit{ID: id, Version: version, Keeper: b.keeper.ID, Why: "the wrong lot", Env: b.env}
	}
	verdict := func() string {
		row, err := b.store.StockBoard(t.Context(), board.ID)
		require.NoError(t, err)
		return row.Verdict
	}
	require.Equal(t, "never", verdict())
	moved, err := db.Boards.Correct(t.Context(), b.store, edit(board.ID, 1), map[string]string{"lot": other.Values["code"]})
	require.NoError(t, err)
	require.Equal(t, "never", verdict())
	_, own, err := b.store.BoardEvidence(t.Context(), b.loadBoard(t, board.ID))
	require.NoError(t, err)
	require.Len(t, own, 1)
	require.NoError(t, db.Findings.Strike(t.Context(), b.store, edit(tag.ID, 1)))
	require.Equal(t, "inside", verdict())
	require.NoError(t, db.Findings.Restore(t.Context(), b.store, edit(tag.ID, 2)))
	require.Equal(t, "never", verdict())

	// Where pieces were cut from it, it stays with them.
	done, err := b.store.CutBoard(t.Context(), db.BoardCut{Board: board.ID, Keeper: b.keeper.ID, Why: "in two", RipKerf: quarter, CrosscutKerf: quarter, Pieces: []db.BoardPiece{{Rect: rect(0, 0, 50, 8)}}})
	require.NoError(t, err)
	back := map[string]string{"lot": first.Values["code"]}
	_, err = db.Boards.Correct(t.Context(), b.store, edit(board.ID, moved.Version+1), back)
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.Equal(t, "lot", faults[0].Field)
	require.NoError(t, db.Boards.Strike(t.Context(), b.store, edit(done.Pieces[0].ID, 1)))
	_, err = db.Boards.Correct(t.Context(), b.store, edit(board.ID, moved.Version+1), back)
	require.NoError(t, err)
	require.ErrorAs(t, db.Boards.Restore(t.Context(), b.store, edit(done.Pieces[0].ID, 2)), &faults)
	require.Contains(t, faults.Error(), "another lot")
}
