package db

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
	"skepwood/analytics/wood"
)

// DryingStack is a stack with what its readings say.
type DryingStack struct {
	Stack
	// Boards is how many live boards lie in it.
	Boards int
	// Target is the moisture wanted, Climate the air it stands in.
	Target  moisture.Target
	Climate moisture.Climate
	// Moves are its live moves, oldest first; Stands and Under are where it
	// stands since the last and what covers it there.
	Moves         []Move
	Stands, Under string
	// Airs says, place by place, where Climate is from.
	Airs []StackAir
	// Wood is what its boards are, Prior what is known of their drying before
	// any reading; Earlier counts the stacks of the book that informed it.
	Wood    moisture.PriorInput
	Prior   moisture.RatePrior
	Earlier int
	// Obs are the corrected readings, oldest first; Refused counts those that
	// cannot be corrected.
	Obs     []moisture.Obs
	Refused int
	// Posterior is nil while nothing was read; Dates and Next follow from it, for
	// a stack that stands or was asked for alone.
	Posterior *moisture.Posterior
	Dates     moisture.ReadyDates
	Next      time.Time
}

// Standing reports whether the stack still stands.
func (d *DryingStack) Standing() bool { return d.TakenDown == nil }

// Drying returns every live stack with its drying curve, the newest first.
// Stacks that were taken down inform the others.
func (s *Store) Drying(ctx context.Context) ([]DryingStack, error) {
	return s.drying(ctx, uuid.Nil)
}

// DryingStack returns one stack, struck or not, with its drying curve.
func (s *Store) DryingStack(ctx context.Context, id uuid.UUID) (*DryingStack, error) {
	if _, err := Stacks.one(ctx, s.pool, id); err != nil {
		return nil, err
	}
	all, err := s.drying(ctx, id)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].ID == id {
			return &all[i], nil
		}
	}
	return nil, fmt.Errorf("stack: %w", ErrNotFound)
}

// drying reads and fits stacks; with an id, only it and those it learns from.
func (s *Store) drying(ctx context.Context, id uuid.UUID) ([]DryingStack, error) {
	stacks, err := Stacks.list(ctx, s.pool, "WHERE (t.struck_at IS NULL AND ($1 = '00000000-0000-0000-0000-000000000000'::uuid OR t.taken_down IS NOT NULL)) OR t.id = $1 ORDER BY t.stickered DESC, t.id", id)
	if err != nil {
		return nil, err
	}
	woods, boards, err := s.stackWoods(ctx, stacks)
	if err != nil {
		return nil, err
	}
	readings, err := s.readingsOfStacks(ctx, stacks)
	if err != nil {
		return nil, err
	}
	ids := make([]uuid.UUID, len(stacks))
	for i := range stacks {
		ids[i] = stacks[i].ID
	}
	moves, err := s.movesOf(ctx, ids)
	if err != nil {
		return nil, err
	}
	airs, err := s.Airs(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]DryingStack, len(stacks))
	for i := range stacks {
		d := &out[i]
		d.Stack, d.Wood, d.Boards = stacks[i], woods[stacks[i].ID], boards[stacks[i].ID]
		d.observe(readings[stacks[i].ID])
		d.Moves = moves[stacks[i].ID]
		if err := d.surroundings(airs); err != nil {
			return nil, fmt.Errorf("stack %s: %w", d.Name, err)
		}
	}
	return out, fitStacks(out, id)
}

// stackWoods says what the boards of each stack are, and how many live ones
// lie in it.
func (s *Store) stackWoods(ctx context.Context, stacks []Stack) (map[uuid.UUID]moisture.PriorInput, map[uuid.UUID]int, error) {
	ids := make([]uuid.UUID, len(stacks))
	for i := range stacks {
		ids[i] = stacks[i].ID
	}
	rows, err := s.pool.Query(ctx, `SELECT stack_id, species, CASE WHEN species = '' THEN species_guess ELSE '' END AS guess, count(*)::int, sum(thickness_nm)::float8, count(*) FILTER (WHERE state = 'rack' AND left_stack IS NULL)::int
		FROM board WHERE stack_id = ANY($1) AND struck_at IS NULL GROUP BY stack_id, species, guess ORDER BY stack_id, species, guess`, ids)
	if err != nil {
		return nil, nil, fmt.Errorf("read the boards of stacks: %w", err)
	}
	woods, racked, all := make(map[uuid.UUID]moisture.PriorInput), make(map[uuid.UUID]int), make(map[uuid.UUID]float64)
	var stack uuid.UUID
	var species, guess string
	var n, onRack int
	var thickness float64
	_, err = pgx.ForEachRow(rows, []any{&stack, &species, &guess, &n, &thickness, &onRack}, func() error {
		w := woods[stack]
		w.Guess = addWood(w.Guess, species, guess, float64(n))
		w.ThicknessMM += wood.Length(thickness).Millimetres()
		woods[stack], all[stack] = w, all[stack]+float64(n)
		racked[stack] += onRack
		return nil
	})
	if err != nil {
		return nil, nil, fmt.Errorf("read the boards of stacks: %w", err)
	}
	for id, w := range woods {
		w.ThicknessMM /= all[id]
		for i := range w.Guess {
			w.Guess[i].P /= all[id]
		}
		if len(w.Guess) == 1 { // one wood, or nothing known of any
			w.Species, w.Guess = w.Guess[0].ID, nil
		}
		woods[id] = w
	}
	return woods, racked, nil
}

// observe corrects the readings by the function that stored their meaning.
func (d *DryingStack) observe(readings []BoardReading) {
	for i := range readings {
		c, err := readings[i].Correct()
		if err != nil {
			d.Refused++
			continue
		}
		d.Obs = append(d.Obs, moisture.ObsOf(readings[i].Reading, c))
	}
}
