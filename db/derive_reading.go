package db

import (
	"context"
	"fmt"
	"math"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
)

// meaning stores beside a reading what it says once corrected for its board's
// species, or averaged over the guess of it. A reading that cannot be corrected
// keeps its raw value and no percentage.
func (r *Reading) meaning(species, guess string) {
	r.Percent, r.PercentSD, r.Range = nil, nil, ""
	in := r.Reading
	in.Species = species
	c, err := moisture.CorrectQuick(&in, guessOptions(species, guess))
	if err != nil {
		return
	}
	r.Range = c.Range
	if c.Known() && !math.IsNaN(c.Percent) {
		percent, sd := c.Percent, c.SD
		r.Percent, r.PercentSD = &percent, &sd
	}
}

// correctBatch works out what the readings of a sheet mean.
func correctBatch(ctx context.Context, run *importRun, rows []*staged[Reading]) error {
	var unsure []uuid.UUID
	for _, s := range rows {
		if board := s.targets["board"]; board.Species == "" {
			unsure = append(unsure, board.ID)
		}
	}
	guesses, err := guessesOf(ctx, run.tx, unsure)
	if err != nil {
		return fmt.Errorf("read what boards may be: %w", err)
	}
	for _, s := range rows {
		board := s.targets["board"]
		s.rec.meaning(board.Species, guesses[board.ID])
		run.boards.add(board.ID)
	}
	return nil
}

// readingBatch is how many boards' readings are corrected at once.
const readingBatch = 2000

// deriveReadings corrects the readings of boards anew where they differ, and
// puts each board's newest one beside the board.
func deriveReadings(ctx context.Context, tx pgx.Tx, boards []uuid.UUID) error {
	for start := 0; start < len(boards); start += readingBatch {
		batch := boards[start:min(start+readingBatch, len(boards))]
		if err := correctReadings(ctx, tx, batch); err != nil {
			return fmt.Errorf("correct the readings: %w", err)
		}
	}
	return newestReadings(ctx, tx, boards)
}

// newestReadings puts each board's newest live reading beside the board, and
// for pieces cut from it that have none of their own since, the board's.
func newestReadings(ctx context.Context, tx pgx.Tx, boards []uuid.UUID) error {
	for start := 0; start < len(boards); start += readingBatch {
		batch := boards[start:min(start+readingBatch, len(boards))]
		if _, err := tx.Exec(ctx, newestReadingSQL, batch); err != nil {
			return fmt.Errorf("store the newest readings: %w", err)
		}
		if _, err := tx.Exec(ctx, inheritedReadingSQL, batch); err != nil {
			return fmt.Errorf("store the readings of cut boards: %w", err)
		}
	}
	return nil
}

const newestReadingSQL = `UPDATE board b SET moisture_pct = n.percent, moisture_sd = n.percent_sd, moisture_range = coalesce(n.range, ''), moisture_at = n.taken_at
	FROM unnest($1::uuid[]) AS i (id) LEFT JOIN LATERAL (SELECT r.percent, r.percent_sd, r.range, r.taken_at FROM reading r
		WHERE r.board_id = i.id AND r.struck_at IS NULL ORDER BY r.taken_at DESC, r.id DESC LIMIT 1) n ON true
	WHERE b.id = i.id AND (b.parent_id IS NULL OR n.taken_at IS NOT NULL) AND (b.moisture_pct, b.moisture_sd, b.moisture_range, b.moisture_at)
		IS DISTINCT FROM (n.percent, n.percent_sd, coalesce(n.range, ''), n.taken_at)`

// inheritedReadingSQL takes, for boards and what was cut from them, where one
// has no reading of its own, the newest of the nearest board it was cut from:
// an offcut is as dry as its board was.
const inheritedReadingSQL = `WITH RECURSIVE down AS (SELECT id, parent_id FROM board WHERE id = ANY($1)
		UNION SELECT b.id, b.parent_id FROM board b JOIN down ON b.parent_id = down.id),
	bare AS (SELECT d.id, d.parent_id FROM down d WHERE d.parent_id IS NOT NULL
		AND NOT EXISTS (SELECT 1 FROM reading r WHERE r.board_id = d.id AND r.struck_at IS NULL)),
	up AS (SELECT id, parent_id AS at, 1 AS depth FROM bare
		UNION ALL SELECT up.id, b.parent_id, up.depth + 1 FROM up JOIN board b ON b.id = up.at WHERE b.parent_id IS NOT NULL AND up.depth < 100)
	UPDATE board b SET moisture_pct = n.percent, moisture_sd = n.percent_sd, moisture_range = coalesce(n.range, ''), moisture_at = n.taken_at
	FROM (SELECT k.id, r.* FROM bare k LEFT JOIN LATERAL (SELECT r.percent, r.percent_sd, r.range, r.taken_at
		FROM up JOIN reading r ON r.board_id = up.at AND r.struck_at IS NULL
		WHERE up.id = k.id ORDER BY up.depth, r.taken_at DESC, r.id DESC LIMIT 1) r ON true) n
	WHERE b.id = n.id AND (b.moisture_pct, b.moisture_sd, b.moisture_range, b.moisture_at)
		IS DISTINCT FROM (n.percent, n.percent_sd, coalesce(n.range, ''), n.taken_at)`

// correctReadings corrects readings and stores those whose meaning changed.
func correctReadings(ctx context.Context, tx pgx.Tx, boards []uuid.UUID) error {
	rows, err := tx.Query(ctx, `SELECT r.id, r.raw, r.method, r.wood_temp_c, r.setting, r.wet_g, r.dry_g, r.percent, r.percent_sd, r.range, b.species, b.species_guess
		FROM reading r JOIN board b ON b.id = r.board_id WHERE r.board_id = ANY($1)`, boards)
	if err != nil {
		return err
	}
	var ids []uuid.UUID
	var percents, sds []*float64
	var ranges []string
	var r, was Reading
	var species, guess string
	_, err = pgx.ForEachRow(rows, []any{&r.Base.ID, &r.Raw, (*string)(&r.Method), &r.WoodTempC, &r.Setting, &r.WetGrams, &r.DryGrams, &was.Percent, &was.PercentSD, &was.Range, &species, &guess}, func() error {
		r.meaning(species, guess)
		if !same(r.Percent, was.Percent) || !same(r.PercentSD, was.PercentSD) || r.Range != was.Range {
			ids, percents, sds, ranges = append(ids, r.Base.ID), append(percents, r.Percent), append(sds, r.PercentSD), append(ranges, r.Range)
		}
		return nil
	})
	if err != nil || len(ids) == 0 {
		return err
	}
	_, err = tx.Exec(ctx, `UPDATE reading r SET percent = v.percent, percent_sd = v.sd, range = v.range
		FROM unnest($1::uuid[], $2::float8[], $3::float8[], $4::text[]) AS v (id, percent, sd, range) WHERE r.id = v.id`, ids, percents, sds, ranges)
	return err
}

func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}
