package db_test

import (
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/analytics/moisture"
	"skepwood/db"
)

func TestStackHoldsBoardsAndTheirReadings(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	entry := b.add(t, db.Stacks, map[string]string{"name": "Stack A", "place": "lean-to", "stickered": "2026-03-02", "air_temperature": "55 F", "air_humidity": "70"})
	require.Equal(t, "roof", entry.Values["cover"])
	board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48", "stack": "stack a"})
	require.Equal(t, "Stack A", board.Values["stack"], "named without regard to case")
	for _, taken := range []string{"2026-03-01 10:00", "2026-03-03 10:00", "2026-03-10 10:00"} {
		b.add(t, db.Readings, map[string]string{"board": board.Values["code"], "raw": "15", "taken": taken})
	}
	boards, err := b.store.StackBoards(t.Context(), entry.ID)
	require.NoError(t, err)
	require.Len(t, boards, 1)
	stack, err := db.Stacks.Get(t.Context(), b.store, entry.ID)
	require.NoError(t, err)
	readings, err := b.store.StackReadings(t.Context(), stack)
	require.NoError(t, err)
	require.Len(t, readings, 2, "what was read before it was stickered is not the stack's")

	_, err = db.Stacks.Add(t.Context(), b.store, db.Base{KeeperID: b.keeper.ID}, map[string]string{"name": "STACK A", "stickered": "2026-03-02"}, b.env)
	var faults db.FieldErrors
	require.ErrorAs(t, err, &faults)
	require.NotNil(t, faults.For("name"))

	// Taken down, its name is free only once it is struck; its boards then
	// point to it by id, and a corrected board keeps it.
	edit := db.Edit{ID: entry.ID, Version: 1, Keeper: b.keeper.ID, Why: "never put up", Env: b.env}
	require.NoError(t, db.Stacks.Strike(t.Context(), b.store, edit))
	b.add(t, db.Stacks, map[string]string{"name": "Stack A", "stickered": "2026-03-05"})
	got, err := db.Boards.Load(t.Context(), b.store, board.ID, b.env)
	require.NoError(t, err)
	require.Equal(t, entry.ID.String(), got.Values["stack"])
	got, err = db.Boards.Correct(t.Context(), b.store, db.Edit{ID: board.ID, Version: 1, Keeper: b.keeper.ID, Why: "moved", Env: b.env}, map[string]string{"place": "rack 3"})
	require.NoError(t, err)
	require.Equal(t, entry.ID.String(), got.Values["stack"])

	lines, err := b.store.Book(t.Context(), db.BookFilter{Kind: "stack"})
	require.NoError(t, err)
	require.Len(t, lines, 2)
	require.Contains(t, lines[1].Text, "Stack A, stickered 2026-03-02")
}

func TestStacksComeFromSheets(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.read(t, false, oldSheets...)
	sheets := []db.Sheet{
		sheet("stacks.csv", "stack,stacked,cover,humidity,temp\nBarn pile,2025-12-01,in a shed,62,50 F\n"),
		sheet("boards.csv", "lot,thickness,width,length,number,stack\nA1,3/4,5,48,S/1,barn pile\n"),
	}
	report := b.read(t, false, sheets...)
	require.Empty(t, report.Faults)
	require.True(t, report.Stored)
	for _, s := range b.read(t, false, sheets...).Sheets {
		require.Zero(t, s.Added, "%s: importing twice adds nothing", s.File)
	}
	dir, first := b.export(t)
	require.Contains(t, first["stacks.csv"], "Barn pile,,shed,2025-12-01,,outside,any,usual,,10 C,62,")
	require.Contains(t, first["boards.csv"], ",Barn pile,")
	second := setup(t)
	require.Empty(t, second.read(t, false, sheetsIn(t, dir)...).Faults)
	_, again := second.export(t)
	require.Equal(t, first, again)
}

func TestStacksMayNotBeDeleted(t *testing.T) {
	t.Parallel()
	b := setup(t)
	_, err := b.store.Pool().Exec(t.Context(), "DELETE FROM stack")
	require.ErrorContains(t, err, "42501") // insufficient_privilege
}

// stackOf enters a stack of n boards with the readings given by day, the same
// for each board.
func (b *bench) stackOf(t testing.TB, values map[string]string, n int, readings map[string]string) db.Entry {
	t.Helper()
	stack := b.add(t, db.Stacks, values)
	lots, err := b.store.Lots(t.Context(), db.LotFilter{})
	require.NoError(t, err)
	for range n {
		board := b.add(t, db.Boards, map[string]string{"lot": lots[0].Code, "thickness": "3/4", "width": "5 1/2", "length": "48", "species": "pine_eastern_white", "stack": values["name"]})
		for day, raw := range readings {
			b.add(t, db.Readings, map[string]string{"board": board.Values["code"], "raw": raw, "temperature": "70 F", "taken": day + " 10:00"})
		}
	}
	return stack
}

func TestStackIsFittedFromItsReadings(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.lot(t)
	drying := map[string]string{"2026-01-10": "28", "2026-01-24": "23", "2026-02-07": "19.5", "2026-02-21": "17"}
	roof := b.stackOf(t, map[string]string{"name": "roof", "stickered": "2026-01-09", "air_temperature": "60 F", "air_humidity": "50"}, 3, drying)
	b.stackOf(t, map[string]string{"name": "open", "stickered": "2026-01-09", "cover": "open", "air_temperature": "45 F", "air_humidity": "90"}, 3,
		map[string]string{"2026-01-10": "28", "2026-01-24": "25", "2026-02-07": "23.5", "2026-02-21": "22.8"})
	b.add(t, db.Stacks, map[string]string{"name": "unread", "stickered": "2026-03-01"})

	all, err := b.store.Drying(t.Context())
	require.NoError(t, err)
	require.Len(t, all, 3)
	by := map[string]*db.DryingStack{}
	for i := range all {
		by[all[i].Name] = &all[i]
	}
	d := by["roof"]
	require.Equal(t, 3, d.Boards)
	require.Equal(t, "pine_eastern_white", d.Wood.Species)
	require.InDelta(t, 19.05, d.Wood.ThicknessMM, 1e-9)
	require.InDelta(t, 9.2, d.Climate.Lowest(), 0.3) // wood handbook table 4-2: 60 °F and 50 % give 9.3
	require.Equal(t, moisture.StateDates, d.Dates.State)
	require.True(t, d.Dates.NotBefore.Before(d.Dates.Likely) && d.Dates.Likely.Before(d.Dates.By))
	require.True(t, d.Dates.Likely.After(testNow), "%v", d.Dates.Likely)
	require.True(t, d.Next.After(d.Posterior.Last))
	require.Equal(t, moisture.StateNever, by["open"].Dates.State, "the air keeps it above its target")
	require.Nil(t, by["unread"].Posterior)

	one, err := b.store.DryingStack(t.Context(), roof.ID)
	require.NoError(t, err)
	require.Equal(t, d.Dates, one.Dates, "the page of one stack says what the list says")
	_, err = b.store.DryingStack(t.Context(), uuid.Must(uuid.NewV7()))
	require.ErrorIs(t, err, db.ErrNotFound)

	// A keeper's own target moves the dates.
	_, err = db.Stacks.Correct(t.Context(), b.store, db.Edit{ID: roof.ID, Version: 1, Keeper: b.keeper.ID, Why: "for stands", Env: b.env}, map[string]string{"target": "15"})
	require.NoError(t, err)
	easier, err := b.store.DryingStack(t.Context(), roof.ID)
	require.NoError(t, err)
	require.True(t, easier.Dates.Likely.Before(d.Dates.Likely))
	require.InDelta(t, 17, easier.Target.High, 1e-9)
}

func TestStacksTakenDownInformTheNext(t *testing.T) {
	t.Parallel()
	b := setup(t)
	b.lot(t)
	air := func(name, stickered, down string) map[string]string {
		return map[string]string{"name": name, "place": "barn", "stickered": stickered, "taken_down": down, "air_temperature": "60 F", "air_humidity": "50"}
	}
	new := b.stackOf(t, air("new", "2026-02-27", ""), 2, map[string]string{"2026-02-28": "26"})
	alone, err := b.store.DryingStack(t.Context(), new.ID)
	require.NoError(t, err)
	require.Zero(t, alone.Earlier)
	for i, name := range []string{"first", "second", "third"} {
		b.stackOf(t, air(name, "2025-0"+string(rune('3'+i))+"-01", "2025-12-01"), 2, map[string]string{
			"2025-0" + string(rune('3'+i)) + "-02": "28", "2025-0" + string(rune('3'+i)) + "-16": "21", "2025-0" + string(rune('3'+i)) + "-28": "17", "2025-10-20": "10.5"})
	}
	pooled, err := b.store.DryingStack(t.Context(), new.ID)
	require.NoError(t, err)
	require.Equal(t, 3, pooled.Earlier)
	require.Less(t, pooled.Prior.SDLog, alone.Prior.SDLog, "the book knows more than the tables")
	require.Less(t, pooled.Dates.By.Sub(pooled.Dates.NotBefore), alone.Dates.By.Sub(alone.Dates.NotBefore))
}

func TestStackIsFilledByCodes(t *testing.T) {
	t.Parallel()
	b := setup(t)
	lot := b.lot(t)
	stack := b.add(t, db.Stacks, map[string]string{"name": "Stack A", "stickered": "2026-03-02"})
	var codes []string
	for range 3 {
		board := b.add(t, db.Boards, map[string]string{"lot": lot.Values["code"], "thickness": "3/4", "width": "5 1/2", "length": "48"})
		codes = append(codes, board.Values["code"])
	}
	edit := db.Edit{ID: stack.ID, Keeper: b.keeper.ID, Env: b.env}
	n, err := b.store.FillStack(t.Context(), edit, strings.ToLower(codes[0])+", "+codes[0], "")
	require.NoError(t, err)
	require.Equal(t, 1, n)
	n, err = b.store.FillStack(t.Context(), edit, lot.Values["code"], "")
	require.NoError(t, err)
	require.Equal(t, 2, n, "the one that lies there already stays as it is")
	boards, err := b.store.StackBoards(t.Context(), stack.ID)
	require.NoError(t, err)
	require.Len(t, boards, 3)
	history, err := b.store.HistoryOf(t.Context(), "board", boards[0].ID)
	require.NoError(t, err)
	require.Equal(t, "stickered into Stack A", history[0].Why)
	for _, wrong := range []string{"", " , ", "ZZZZZ-1", codes[0] + " nowhere", "a\x00b"} {
		_, err := b.store.FillStack(t.Context(), edit, wrong, "")
		var faults db.FieldErrors
		require.ErrorAs(t, err, &faults, "%q", wrong)
		require.NotNil(t, faults.For("codes"))
	}
}
