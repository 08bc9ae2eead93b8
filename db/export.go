package db

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"github.com/jackc/pgx/v5"
)

// ExportFiles lists the files of an export, in the order in which they can be
// read back.
func ExportFiles() []string {
	return []string{"keepers.csv", "settings.csv", "policies.csv", "allowances.csv", "sources.csv", "pickups.csv", "lots.csv", "climates.csv", "stacks.csv", "moves.csv", "boards.csv", "findings.csv", "defects.csv", "readings.csv", "parts.csv", "plans.csv", "layouts.csv", "blanks.csv", "history.csv"}
}

// Export writes the whole book as sheets that Import reads back: the same
// entries with the same ids, struck ones too. create is called for each file
// of ExportFiles in turn. Everything is read from one moment of the book.
func (s *Store) Export(ctx context.Context, create func(name string) (io.WriteCloser, error)) error {
	return pgx.BeginTxFunc(ctx, s.pool, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		env := SheetEnv(s.Now())
		writers := []func(io.Writer) error{
			func(w io.Writer) error { return exportKeepers(ctx, tx, w) },
			func(w io.Writer) error { return Settings.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Policies.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Allowances.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Sources.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Pickups.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Lots.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Climates.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Stacks.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Moves.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Boards.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Findings.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Defects.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Readings.export(ctx, tx, w, env) },
			func(w io.Writer) error { return OwnParts.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Plans.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Layouts.export(ctx, tx, w, env) },
			func(w io.Writer) error { return Blanks.export(ctx, tx, w, env) },
			func(w io.Writer) error { return exportHistory(ctx, tx, w) },
		}
		for i, name := range ExportFiles() {
			if err := exportOne(name, create, writers[i]); err != nil {
				return fmt.Errorf("export %s: %w", name, err)
			}
		}
		return nil
	})
}

func exportOne(name string, create func(string) (io.WriteCloser, error), write func(io.Writer) error) (err error) {
	out, err := create(name)
	if err != nil {
		return err
	}
	defer func() {
		if closeErr := out.Close(); err == nil {
			err = closeErr
		}
	}()
	return write(out)
}

// export writes one kind. Boards come after those they were cut from, since
// an offcut is entered later than its board.
func (e *Entity[T]) export(ctx context.Context, tx pgx.Tx, w io.Writer, env Env) error {
	out := csv.NewWriter(w)
	header := []string{"id"}
	for i := range e.columns {
		if !e.columns[i].Hidden {
			header = append(header, e.columns[i].Name)
		}
	}
	if err := out.Write(append(header, "keeper", "entered", "version", "struck")); err != nil {
		return err
	}
	rows, err := tx.Query(ctx, e.selectSQL()+"ORDER BY t.received_at, t.id")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		rec, err := e.scan(rows)
		if err != nil {
			return err
		}
		if err := out.Write(e.cells(&rec, env)); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}

func (e *Entity[T]) cells(rec *T, env Env) []string {
	base := e.base(rec)
	cells := []string{base.ID.String()}
	for i := range e.columns {
		if !e.columns[i].Hidden {
			cells = append(cells, guard(e.columns[i].get(rec, env)))
		}
	}
	struck := ""
	if base.StruckAt != nil {
		struck = instantCodec{}.print(base.StruckAt, env)
	}
	return append(cells, guard(base.Keeper), instantCodec{}.print(&base.ReceivedAt, env), strconv.Itoa(base.Version), struck)
}

func exportKeepers(ctx context.Context, tx pgx.Tx, w io.Writer) error {
	rows, err := tx.Query(ctx, keeperSQL+"ORDER BY received_at, id")
	if err != nil {
		return err
	}
	keepers, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Keeper])
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	header := []string{"id"}
	for i := range Keepers.columns {
		header = append(header, Keepers.columns[i].Name)
	}
	records := [][]string{append(header, "entered", "version")}
	env := SheetEnv(keepersEpoch)
	for i := range keepers {
		k := &keepers[i]
		cells := []string{k.ID.String()}
		for j := range Keepers.columns {
			cells = append(cells, guard(Keepers.columns[j].get(k, env)))
		}
		records = append(records, append(cells, instantCodec{}.print(&k.ReceivedAt, env), strconv.Itoa(k.Version)))
	}
	return out.WriteAll(records)
}

// keepersEpoch is a moment for printing values that depend on none.
var keepersEpoch = day(2000, 1, 1)

func exportHistory(ctx context.Context, tx pgx.Tx, w io.Writer) error {
	rows, err := tx.Query(ctx, `SELECT h.id, h.entity, h.entity_id, h.action, h.why, h.changes, h.keeper_id, k.name, h.received_at
		FROM history h JOIN keeper k ON k.id = h.keeper_id ORDER BY h.received_at, h.id`)
	if err != nil {
		return err
	}
	defer rows.Close()
	out := csv.NewWriter(w)
	if err := out.Write(historyHeader); err != nil {
		return err
	}
	env := SheetEnv(keepersEpoch)
	for rows.Next() {
		h, err := scanHistory(rows)
		if err != nil {
			return err
		}
		changes, err := json.Marshal(h.Changes)
		if err != nil {
			return err
		}
		err = out.Write([]string{h.ID.String(), h.Entity, h.EntityID.String(), h.Action, guard(h.Why), guard(string(changes)), guard(h.Keeper), instantCodec{}.print(&h.ReceivedAt, env)})
		if err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}
