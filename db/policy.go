package db

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/screen"
)

// PolicyChoice is the keeper's choice where the published rules leave room.
type PolicyChoice struct {
	Base
	Setting string
	Verdict string
	Note    string
}

var verdictOptions = []Option{{"inside", "inside"}, {"outside", "outside"}, {"hold", "hold"}, {"never", "never"}}

// Policies is the kind of entry that holds house policy.
var Policies = &Entity[PolicyChoice]{
	table: "policy",
	base:  func(p *PolicyChoice) *Base { return &p.Base },
	columns: []Column[PolicyChoice]{
		{Name: "setting", Required: true, Example: "S04", Help: "The rule whose verdict is chosen.", SQL: "setting", Ptr: func(p *PolicyChoice) any { return &p.Setting }, Codec: textCodec{max: 60}},
		{Name: "verdict", Required: true, Example: "never", SQL: "verdict", Ptr: func(p *PolicyChoice) any { return &p.Verdict }, Codec: choiceCodec{verdictOptions, ""}},
		{Name: "note", Aliases: []string{"notes", "comments", "why"}, Help: "Why your house does so.", SQL: "note", Ptr: func(p *PolicyChoice) any { return &p.Note }, Codec: textCodec{max: 10000, long: true}},
	},
	check: func(p *PolicyChoice, _ Env) FieldErrors {
		chosen := screen.Policy{Settings: map[string]screen.Verdict{p.Setting: screen.Verdict(p.Verdict)}}
		if err := chosen.Validate(); err != nil {
			if errors.Is(err, screen.ErrFixedRule) {
				return FieldErrors{{Field: "setting", Value: p.Setting, Problem: err.Error(), Remedy: "name a rule that the rules page offers as a choice"}}
			}
			return FieldErrors{{Field: "verdict", Value: p.Verdict, Problem: err.Error(), Remedy: "choose a verdict within the bounds the rule allows"}}
		}
		return nil
	},
	unique: map[string]*FieldError{
		"policy_setting_once": {Field: "setting", Problem: "is chosen already", Remedy: "correct that choice instead"},
	},
	natural: []natural[PolicyChoice]{{field: "setting", key: func(p *PolicyChoice) string { return p.Setting },
		sql: `SELECT setting, id FROM policy WHERE struck_at IS NULL AND setting = ANY($1)`}},
	derive: func(ctx context.Context, tx pgx.Tx, _ *PolicyChoice) error {
		return deriveEveryLot(ctx, tx)
	},
	batch:    judgeAll[PolicyChoice],
	identity: func(p *PolicyChoice) string { return strings.ToLower(p.Setting) },
}

// PolicyChoices returns the live choices by rule.
func (s *Store) PolicyChoices(ctx context.Context) ([]PolicyChoice, error) {
	return Policies.list(ctx, s.pool, "WHERE t.struck_at IS NULL ORDER BY t.setting")
}

// readPolicy returns the house policy as the rules take it.
func readPolicy(ctx context.Context, q querier) (screen.Policy, error) {
	rows, err := q.Query(ctx, "SELECT setting, verdict FROM policy WHERE struck_at IS NULL")
	if err != nil {
		return screen.Policy{}, fmt.Errorf("read the house policy: %w", err)
	}
	p := screen.Policy{Settings: make(map[string]screen.Verdict)}
	var setting string
	var verdict screen.Verdict
	_, err = pgx.ForEachRow(rows, []any{&setting, (*string)(&verdict)}, func() error {
		p.Settings[setting] = verdict
		return nil
	})
	return p, err
}

// ScreenOptions returns how the book judges: by its house policy, and without a
// date, as the stored verdicts are.
func (s *Store) ScreenOptions(ctx context.Context) (screen.Options, error) {
	policy, err := readPolicy(ctx, s.pool)
	return screen.Options{Policy: policy}, err
}

// deriveEveryLot judges the whole book anew, in batches of one transaction.
func deriveEveryLot(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, "SELECT id FROM lot ORDER BY id")
	if err != nil {
		return err
	}
	lots, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return err
	}
	for start := 0; start < len(lots); start += deriveBatch {
		if err := deriveLots(ctx, tx, lots[start:min(start+deriveBatch, len(lots))]); err != nil {
			return err
		}
	}
	rows, err = tx.Query(ctx, "SELECT id FROM pickup ORDER BY id")
	if err != nil {
		return err
	}
	pickups, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return err
	}
	return sumPickups(ctx, tx, pickups)
}

// Effect is what a change of policy or of rules would do to live lots.
type Effect struct {
	// Moves say how many lots would go from which verdict to which; their IDs
	// are crayon codes.
	Moves []screen.Move
	// Lots is how many were judged.
	Lots int
}

// PolicyEffect says what judging with this policy would change, storing
// nothing.
func (s *Store) PolicyEffect(ctx context.Context, policy screen.Policy) (Effect, error) {
	return s.effect(ctx, func(context.Context, pgx.Tx) (screen.Policy, error) { return policy, nil }, "")
}

// RuleEffect says what judging with this program's rules would change in lots
// that another rule version judged, storing nothing; Recompute applies it.
func (s *Store) RuleEffect(ctx context.Context) (Effect, error) {
	return s.effect(ctx, func(ctx context.Context, tx pgx.Tx) (screen.Policy, error) { return readPolicy(ctx, tx) }, screen.Version())
}

// effect judges live lots, leaving out those already at ruleVersion.
func (s *Store) effect(ctx context.Context, policyOf func(context.Context, pgx.Tx) (screen.Policy, error), ruleVersion string) (Effect, error) {
	var out Effect
	var before, after []screen.Judged
	err := pgx.BeginTxFunc(ctx, s.pool, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		policy, err := policyOf(ctx, tx)
		if err != nil {
			return err
		}
		rows, err := tx.Query(ctx, `SELECT l.id, l.code, l.verdict FROM lot l JOIN pickup p ON p.id = l.pickup_id
			WHERE l.struck_at IS NULL AND p.struck_at IS NULL AND l.rule_version <> $1 ORDER BY l.id`, ruleVersion)
		if err != nil {
			return err
		}
		var ids []uuid.UUID
		var id uuid.UUID
		var j screen.Judged
		codes := make(map[uuid.UUID]string)
		if _, err := pgx.ForEachRow(rows, []any{&id, &j.ID, (*string)(&j.Verdict)}, func() error {
			ids, codes[id], before = append(ids, id), j.ID, append(before, j)
			return nil
		}); err != nil {
			return err
		}
		for start := 0; start < len(ids); start += deriveBatch {
			w, err := readWood(ctx, tx, ids[start:min(start+deriveBatch, len(ids))])
			if err != nil {
				return err
			}
			w.policy = policy
			for _, l := range w.lots {
				j := screen.Judge(l.findings, w.options())
				after = append(after, screen.Judged{ID: codes[l.id], Verdict: j.Verdict})
			}
		}
		return nil
	})
	if err != nil {
		return out, fmt.Errorf("judge with other rules: %w", err)
	}
	out.Lots, out.Moves = len(after), screen.Diff(before, after)
	return out, nil
}
