package db

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/grade"
	"skepwood/analytics/screen"
	"skepwood/analytics/wood"
)

// usableShareUnseen stands in for the usable share of a lot whose keeper gave
// a volume but no share: the middle of 50 to 75 percent (common practice, no
// source). Such a lot is labelled estimated.
const usableShareUnseen = 0.6

// deriveLotAndPickup brings a lot, its boards and its pickup's sums up to date.
func deriveLotAndPickup(ctx context.Context, tx pgx.Tx, lot uuid.UUID) error {
	if err := deriveLots(ctx, tx, []uuid.UUID{lot}); err != nil {
		return err
	}
	var pickup uuid.UUID
	if err := tx.QueryRow(ctx, "SELECT pickup_id FROM lot WHERE id = $1", lot).Scan(&pickup); err != nil {
		return notFound(err, "lot")
	}
	return sumPickups(ctx, tx, []uuid.UUID{pickup})
}

// deriveBoards does the same where only some boards of the lot, or what is
// written down about them, changed: the others are as they were.
func deriveBoards(ctx context.Context, tx pgx.Tx, lot uuid.UUID, boards []uuid.UUID) error {
	if err := deriveSince(ctx, tx, []uuid.UUID{lot}, &woodChange{boards: among(boards)}); err != nil {
		return err
	}
	var pickup uuid.UUID
	if err := tx.QueryRow(ctx, "SELECT pickup_id FROM lot WHERE id = $1", lot).Scan(&pickup); err != nil {
		return notFound(err, "lot")
	}
	return sumPickups(ctx, tx, []uuid.UUID{pickup})
}

// woodChange says of what lots hold what changed since they were derived; nil
// stands for everything.
type woodChange struct {
	// boards tells whether a board changed, or what is written down about it.
	boards func(uuid.UUID) bool
	// lots are those all of whose boards count as changed.
	lots map[uuid.UUID]bool
}

// among tells whether an id is one of a list.
func among(ids []uuid.UUID) func(uuid.UUID) bool {
	set := make(map[uuid.UUID]bool, len(ids))
	for _, id := range ids {
		set[id] = true
	}
	return func(id uuid.UUID) bool { return set[id] }
}

// deriveSince brings lots and those of their boards up to date that changed. Of
// lots that other rules judged no board stays as it is.
func deriveSince(ctx context.Context, tx pgx.Tx, lots []uuid.UUID, change *woodChange) error {
	if err := holdLots(ctx, tx, lots); err != nil {
		return err
	}
	rows, err := tx.Query(ctx, "SELECT id FROM lot WHERE id = ANY($1) AND rule_version <> $2", lots, screen.Version())
	if err != nil {
		return fmt.Errorf("find lots that other rules judged: %w", err)
	}
	old, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return fmt.Errorf("find lots that other rules judged: %w", err)
	}
	since := woodChange{boards: change.boards, lots: make(map[uuid.UUID]bool, len(change.lots)+len(old))}
	maps.Copy(since.lots, change.lots)
	for _, id := range old {
		since.lots[id] = true
	}
	w, err := readWoodSince(ctx, tx, lots, &since)
	if err != nil {
		return fmt.Errorf("read what the verdict rests on: %w", err)
	}
	return w.derive(ctx, tx)
}

// deriveBoard does it for one board, in the lot that it belongs to by now.
func deriveBoard(ctx context.Context, tx pgx.Tx, board uuid.UUID) error {
	var lot uuid.UUID
	if err := tx.QueryRow(ctx, "SELECT lot_id FROM board WHERE id = $1", board).Scan(&lot); err != nil {
		return notFound(err, "board")
	}
	return deriveBoards(ctx, tx, lot, []uuid.UUID{board})
}

// woodOf is everything that decides the verdicts and volumes of some lots.
type woodOf struct {
	lots    []*lotState
	byID    map[uuid.UUID]*lotState
	boards  map[uuid.UUID]*boardState
	changed *woodChange
	policy  screen.Policy
	usable  usableVolumes
}

// options judge without a date: a verdict that is stored must not depend on
// the day it was computed, or rebuilding it would change it. What lies in the
// future is refused when it is entered.
func (w *woodOf) options() screen.Options { return screen.Options{Policy: w.policy} }

// lotState is a lot with its live findings and boards.
type lotState struct {
	id          uuid.UUID
	count       int
	volume      *float64
	usableShare *float64
	broken      int
	findings    []screen.Finding
	boards      []*boardState
	judgement   screen.Judgement
	outcome     Outcome
	estimated   bool
	unknown     bool
}

// boardState is a board with its own live findings and defects.
type boardState struct {
	id     uuid.UUID
	parent uuid.NullUUID
	wood   grade.Board
	// marked says that somebody wrote a defect down, other than an edge that
	// came with the board's entry.
	marked bool
	// kept says that it is as it was: what is stored for it holds.
	kept      bool
	findings  []screen.Finding
	judgement screen.Judgement
	usable    grade.Usable
	gross     float64
}

// deriveLots judges lots and their boards anew and stores verdicts, volumes
// and sums that differ. It is the only way a verdict enters the book.
//
// It holds the lots first, so that of two entries made at the same moment the
// second to be derived sees the first.
func deriveLots(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	if err := holdLots(ctx, tx, ids); err != nil {
		return err
	}
	w, err := readWood(ctx, tx, ids)
	if err != nil {
		return fmt.Errorf("read what the verdict rests on: %w", err)
	}
	return w.derive(ctx, tx)
}

// derive judges what was read and stores what differs.
func (w *woodOf) derive(ctx context.Context, tx pgx.Tx) (err error) {
	if w.policy, err = readPolicy(ctx, tx); err != nil {
		return err
	}
	if w.usable.widths, err = readWidths(ctx, tx); err != nil {
		return err
	}
	for _, l := range w.lots {
		if err := w.judge(l); err != nil {
			return err
		}
	}
	if err := w.storeBoards(ctx, tx); err != nil {
		return fmt.Errorf("store what follows for boards: %w", err)
	}
	if err := w.storeLots(ctx, tx); err != nil {
		return fmt.Errorf("store what follows for lots: %w", err)
	}
	return storeBlanks(ctx, tx, "b.id = ANY($1)", w.toJudge())
}

// holdLots keeps everybody else from numbering boards of the lots and from
// deriving them until the transaction ends.
func holdLots(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	return hold(ctx, tx, "lot", ids)
}

// holdLotsOf holds the lots of boards. Whoever locks boards holds their lots
// first: deriving a lot writes its boards, so the other order would make two
// of them wait for each other.
func holdLotsOf(ctx context.Context, tx pgx.Tx, boards []uuid.UUID) error {
	rows, err := tx.Query(ctx, "SELECT DISTINCT lot_id FROM board WHERE id = ANY($1)", boards)
	if err != nil {
		return err
	}
	lots, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return err
	}
	return holdLots(ctx, tx, lots)
}

// hold locks rows in the order of ids, so that two holders never wait for each
// other; entries that merely refer to the rows are not kept waiting.
func hold(ctx context.Context, tx pgx.Tx, table string, ids []uuid.UUID) error {
	if _, err := tx.Exec(ctx, "SELECT 1 FROM "+table+" WHERE id = ANY($1) ORDER BY id FOR NO KEY UPDATE", ids); err != nil {
		return fmt.Errorf("hold the %s: %w", table, err)
	}
	return nil
}

// maxParents ends a walk from a board to those it was cut from.
const maxParents = 1000

// judge fills in a lot's verdict, its boards' and the sums.
func (w *woodOf) judge(l *lotState) error {
	opts := w.options()
	l.judgement = screen.Judge(l.findings, opts)
	for _, b := range l.boards {
		if b.kept {
			continue
		}
		own := w.inherited(b)
		if len(own) == 0 {
			b.judgement = l.judgement
		} else {
			b.judgement = screen.JudgeBoard(l.findings, own, opts)
		}
		b.gross = float64(wood.VolumeOf(b.wood.Thickness, b.wood.Width, b.wood.Length))
		usable, err := w.usable.of(b.wood, b.judgement.Verdict)
		if err != nil {
			return fmt.Errorf("usable volume of board %s: %w", b.id, err)
		}
		b.usable = usable
	}
	l.sum()
	return nil
}

// inherited returns the findings of a board and of every board it was cut from.
func (w *woodOf) inherited(b *boardState) []screen.Finding {
	if !b.parent.Valid {
		return b.findings
	}
	out := append([]screen.Finding(nil), b.findings...)
	for seen := 0; b.parent.Valid && seen < maxParents; seen++ {
		parent, ok := w.boards[b.parent.UUID]
		if !ok {
			break
		}
		out = append(out, parent.findings...)
		b = parent
	}
	return out
}

// sum books the wood of the boards that came out of the lot, not of pieces
// cut from them later; without boards it books the keeper's estimate.
func (l *lotState) sum() {
	l.outcome, l.estimated, l.unknown = Outcome{}, false, false
	roots, gross := 0, 0.0
	for _, b := range l.boards {
		if b.parent.Valid {
			continue
		}
		roots++
		gross += b.gross
		l.outcome.add(string(b.judgement.Verdict), b.judgement.OwnershipStop, b.gross, float64(b.usable.Clear))
	}
	switch {
	case roots > 0:
		l.outcome.GrossLost = float64(l.broken) * gross / float64(roots)
	case l.volume != nil:
		share := usableShareUnseen
		if l.usableShare != nil {
			share = *l.usableShare
		}
		l.estimated = true
		l.outcome.add(string(l.judgement.Verdict), l.judgement.OwnershipStop, *l.volume, *l.volume*share)
	default:
		l.unknown = true
	}
}

// StoredReason is what lists show of a verdict without judging again.
type StoredReason struct {
	Rule    string `json:"rule"`
	Verdict string `json:"verdict"`
	Text    string `json:"text"`
}

func reasonsJSON(j screen.Judgement) ([]byte, error) {
	out := make([]StoredReason, 0, len(j.Reasons))
	for _, r := range j.Reasons {
		out = append(out, StoredReason{Rule: r.RuleID, Verdict: string(r.Verdict), Text: r.Text})
	}
	return json.Marshal(out)
}

// sumPickups adds the lots of pickups up anew. The sums run in the order of
// ids, so that adding them twice gives the same last bit.
func sumPickups(ctx context.Context, tx pgx.Tx, ids []uuid.UUID) error {
	if err := hold(ctx, tx, "pickup", ids); err != nil {
		return err
	}
	sums, sets := "", ""
	for _, c := range outcomeColumns {
		sums += fmt.Sprintf(", coalesce(sum(l.%[1]s ORDER BY l.id), 0) AS %[1]s", c)
		sets += fmt.Sprintf(", %[1]s = s.%[1]s", c)
	}
	_, err := tx.Exec(ctx, `UPDATE pickup p SET lots = s.lots, boards = s.boards, shop_minutes = s.shop_minutes, estimated = s.estimated, unknown = s.unknown`+sets+`
		FROM (SELECT p.id, count(l.id) AS lots, coalesce(sum(l.boards), 0) AS boards, coalesce(sum(l.dismantle_minutes ORDER BY l.id), 0) AS shop_minutes,
				count(*) FILTER (WHERE l.estimated) AS estimated, count(*) FILTER (WHERE l.unknown) AS unknown`+sums+`
			FROM pickup p LEFT JOIN lot l ON l.pickup_id = p.id AND l.struck_at IS NULL
			WHERE p.id = ANY($1) GROUP BY p.id) s
		WHERE p.id = s.id`, ids)
	if err != nil {
		return fmt.Errorf("add up the pickups: %w", err)
	}
	return nil
}
