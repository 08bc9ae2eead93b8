package db

import (
	"context"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/screen"
)

// readWood loads lots with their live findings, boards and defects in four
// statements, however many lots there are.
func readWood(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) (*woodOf, error) {
	return readWoodSince(ctx, tx, ids, nil)
}

// readWoodSince loads lots of which only some boards changed. Of the others,
// unless they were cut from one that changed, it takes what is stored for them.
func readWoodSince(ctx context.Context, tx pgx.Tx, ids []uuid.UUID, change *woodChange) (*woodOf, error) {
	w := &woodOf{byID: make(map[uuid.UUID]*lotState, len(ids)), boards: make(map[uuid.UUID]*boardState), changed: change}
	for _, read := range []func(context.Context, pgx.Tx, []uuid.UUID) error{w.readLots, w.readBoards, w.readFindings, w.readDefects} {
		if err := read(ctx, tx, ids); err != nil {
			return nil, err
		}
	}
	return w, nil
}

func (w *woodOf) readLots(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	rows, err := tx.Query(ctx, `SELECT id, count, volume_m3, usable_share, broken FROM lot WHERE id = ANY($1) ORDER BY id`, ids)
	if err != nil {
		return err
	}
	var l lotState
	_, err = pgx.ForEachRow(rows, []any{&l.id, &l.count, &l.volume, &l.usableShare, &l.broken}, func() error {
		state := l
		w.lots = append(w.lots, &state)
		w.byID[state.id] = &state
		return nil
	})
	return err
}

func (w *woodOf) readBoards(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	rows, err := tx.Query(ctx, `SELECT id, lot_id, parent_id, thickness_nm, width_nm, length_nm, looked_over, verdict, ownership_stop, gross_m3, usable_m3
		FROM board WHERE lot_id = ANY($1) AND struck_at IS NULL ORDER BY id`, ids)
	if err != nil {
		return err
	}
	var b boardState
	var lot uuid.UUID
	_, err = pgx.ForEachRow(rows, []any{&b.id, &lot, &b.parent, &b.wood.Thickness, &b.wood.Width, &b.wood.Length, &b.wood.Mapped,
		(*string)(&b.judgement.Verdict), &b.judgement.OwnershipStop, &b.gross, (*float64)(&b.usable.Clear)}, func() error {
		state := b
		w.boards[state.id] = &state
		w.byID[lot].boards = append(w.byID[lot].boards, &state)
		return nil
	})
	w.keep()
	return err
}

// keep marks the boards that are as they were. Where there are none, everything
// changed, which is read faster.
func (w *woodOf) keep() {
	if w.changed == nil {
		return
	}
	kept := false
	for _, l := range w.lots {
		for _, b := range l.boards {
			b.kept = !w.changed.lots[l.id] && !w.touched(b)
			kept = kept || b.kept
		}
	}
	if !kept {
		w.changed = nil
	}
}

// touched reports whether a board or one that it was cut from changed.
func (w *woodOf) touched(b *boardState) bool {
	for seen := 0; seen < maxParents; seen++ {
		if w.changed.boards(b.id) || b.parent.Valid && w.changed.boards(b.parent.UUID) {
			return true
		}
		parent, ok := w.boards[b.parent.UUID]
		if !b.parent.Valid || !ok {
			return false
		}
		b = parent
	}
	return true
}

// withParents adds to boards those that they were cut from.
func (w *woodOf) withParents(ids []uuid.UUID) []uuid.UUID {
	seen := make(map[uuid.UUID]bool, len(ids))
	var all []uuid.UUID
	for _, id := range ids {
		for b := w.boards[id]; b != nil && !seen[b.id]; b = w.boards[b.parent.UUID] {
			seen[b.id] = true
			all = append(all, b.id)
		}
	}
	return all
}

// toJudge lists the boards that are not kept.
func (w *woodOf) toJudge() []uuid.UUID {
	var ids []uuid.UUID
	for _, l := range w.lots {
		for _, b := range l.boards {
			if !b.kept {
				ids = append(ids, b.id)
			}
		}
	}
	return ids
}

func (w *woodOf) readFindings(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	// A board's findings go where it goes, whatever lot they were filed under.
	where, boards := "b.lot_id = ANY($2)", ids
	if w.changed != nil {
		where, boards = "b.id = ANY($2)", w.withParents(w.toJudge())
	}
	rows, err := tx.Query(ctx, `SELECT f.id::text, f.lot_id, f.board_id, 'lot', f.kind, f.value, f.note, f.seen_at
		FROM finding f WHERE f.lot_id = ANY($1) AND f.board_id IS NULL AND f.struck_at IS NULL
		UNION ALL SELECT f.id::text, b.lot_id, f.board_id, b.code, f.kind, f.value, f.note, f.seen_at
		FROM board b JOIN finding f ON f.board_id = b.id WHERE f.struck_at IS NULL AND `+where+` ORDER BY 1`, ids, boards)
	if err != nil {
		return err
	}
	var f screen.Finding
	var lot uuid.UUID
	var board uuid.NullUUID
	_, err = pgx.ForEachRow(rows, []any{&f.ID, &lot, &board, &f.On, (*string)(&f.Kind), &f.Value, &f.Note, &f.At}, func() error {
		if !board.Valid {
			w.byID[lot].findings = append(w.byID[lot].findings, f)
		} else if b, ok := w.boards[board.UUID]; ok {
			b.findings = append(b.findings, f)
		}
		return nil
	})
	return err
}

func (w *woodOf) readDefects(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	where := "b.lot_id = ANY($1)"
	if w.changed != nil {
		where, ids = "d.board_id = ANY($1)", w.toJudge()
	}
	rows, err := tx.Query(ctx, `SELECT d.board_id, d.kind, d.face, d.x_nm, d.y_nm, d.dx_nm, d.dy_nm, d.depth_nm, d.metal, d.pattern
		FROM defect d JOIN board b ON b.id = d.board_id
		WHERE b.struck_at IS NULL AND d.struck_at IS NULL AND `+where+` ORDER BY d.id`, ids)
	if err != nil {
		return err
	}
	var d grade.Defect
	var board uuid.UUID
	var pattern string
	_, err = pgx.ForEachRow(rows, []any{&board, (*string)(&d.Kind), (*string)(&d.Face), &d.X, &d.Y, &d.DX, &d.DY, &d.Depth, &d.Metal, &pattern}, func() error {
		b := w.boards[board]
		b.marked = b.marked || !strings.HasPrefix(pattern, edgePattern)
		b.wood.Defects = append(b.wood.Defects, d)
		return nil
	})
	return err
}

func (w *woodOf) storeBoards(ctx context.Context, tx pgx.Tx) error {
	n := len(w.boards)
	ids, verdicts, stops := make([]uuid.UUID, 0, n), make([]string, 0, n), make([]bool, 0, n)
	gross, usable, mapped, reasons := make([]float64, 0, n), make([]float64, 0, n), make([]bool, 0, n), make([]string, 0, n)
	for _, l := range w.lots {
		for _, b := range l.boards {
			if b.kept {
				continue
			}
			why := []byte("[]")
			if len(b.findings) > 0 || b.parent.Valid {
				var err error
				if why, err = reasonsJSON(b.judgement); err != nil {
					return err
				}
			}
			ids, verdicts, stops = append(ids, b.id), append(verdicts, string(b.judgement.Verdict)), append(stops, b.judgement.OwnershipStop)
			gross, usable = append(gross, b.gross), append(usable, float64(b.usable.Clear))
			mapped, reasons = append(mapped, b.wood.Mapped || b.marked), append(reasons, string(why))
		}
	}
	_, err := tx.Exec(ctx, `UPDATE board b SET verdict = v.verdict, ownership_stop = v.stop, gross_m3 = v.gross, usable_m3 = v.usable,
			mapped = v.mapped, reasons = v.reasons::jsonb
		FROM unnest($1::uuid[], $2::text[], $3::boolean[], $4::float8[], $5::float8[], $6::boolean[], $7::text[])
			AS v (id, verdict, stop, gross, usable, mapped, reasons)
		WHERE b.id = v.id AND (b.verdict, b.ownership_stop, b.gross_m3, b.usable_m3, b.mapped, b.reasons)
			IS DISTINCT FROM (v.verdict, v.stop, v.gross, v.usable, v.mapped, v.reasons::jsonb)`,
		ids, verdicts, stops, gross, usable, mapped, reasons)
	return err
}

func (w *woodOf) storeLots(ctx context.Context, tx pgx.Tx) error {
	n := len(w.lots)
	ids, verdicts, stops, reasons := make([]uuid.UUID, n), make([]string, n), make([]bool, n), make([]string, n)
	boards, estimated, unknown := make([]int32, n), make([]bool, n), make([]bool, n)
	sums := make([][]float64, len(outcomeColumns))
	for i, l := range w.lots {
		why, err := reasonsJSON(l.judgement)
		if err != nil {
			return err
		}
		ids[i], verdicts[i], stops[i], reasons[i] = l.id, string(l.judgement.Verdict), l.judgement.OwnershipStop, string(why)
		boards[i], estimated[i], unknown[i] = int32(len(l.boards)), l.estimated, l.unknown
		for j, v := range l.outcome.fields() {
			sums[j] = append(sums[j], *v)
		}
	}
	args := []any{ids, verdicts, stops, reasons, boards, estimated, unknown, screen.Version()}
	for _, s := range sums {
		args = append(args, s)
	}
	_, err := tx.Exec(ctx, storeLotsSQL, args...)
	return err
}

const storeLotsSQL = `UPDATE lot l SET verdict = v.verdict, ownership_stop = v.stop, reasons = v.reasons::jsonb,
		boards = v.boards, estimated = v.estimated, unknown = v.unknown, rule_version = $8,
		gross_inside_m3 = v.s1, gross_outside_m3 = v.s2, gross_hold_m3 = v.s3, gross_never_m3 = v.s4, gross_stopped_m3 = v.s5,
		gross_lost_m3 = v.s6, usable_inside_m3 = v.s7, usable_outside_m3 = v.s8, usable_hold_m3 = v.s9
	FROM unnest($1::uuid[], $2::text[], $3::boolean[], $4::text[], $5::int[], $6::boolean[], $7::boolean[],
			$9::float8[], $10::float8[], $11::float8[], $12::float8[], $13::float8[], $14::float8[], $15::float8[], $16::float8[], $17::float8[])
		AS v (id, verdict, stop, reasons, boards, estimated, unknown, s1, s2, s3, s4, s5, s6, s7, s8, s9)
	WHERE l.id = v.id AND (l.verdict, l.ownership_stop, l.reasons, l.boards, l.estimated, l.unknown, l.rule_version,
			l.gross_inside_m3, l.gross_outside_m3, l.gross_hold_m3, l.gross_never_m3, l.gross_stopped_m3,
			l.gross_lost_m3, l.usable_inside_m3, l.usable_outside_m3, l.usable_hold_m3)
		IS DISTINCT FROM (v.verdict, v.stop, v.reasons::jsonb, v.boards, v.estimated, v.unknown, $8,
			v.s1, v.s2, v.s3, v.s4, v.s5, v.s6, v.s7, v.s8, v.s9)`
