package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// AddReadings stores readings of one round through a stack in one transaction.
// Each id follows from the form's id and the board, so that a form sent twice
// is one round.
func (s *Store) AddReadings(ctx context.Context, form, keeper uuid.UUID, readings []Reading) error {
	return s.Tx(ctx, func(tx pgx.Tx) error {
		round := *Readings
		round.derive = nil // once for all of them, below
		boards := make([]uuid.UUID, 0, len(readings))
		for _, r := range readings {
			r.Base = s.fresh(Base{ID: uuid.NewSHA1(form, []byte(r.Board.ID.String())), KeeperID: keeper})
			if _, err := round.insert(ctx, tx, &r); err != nil {
				return err
			}
			boards = append(boards, r.Board.ID)
		}
		return deriveReadings(ctx, tx, boards)
	})
}

// maxFill bounds the boards that one form puts into a stack.
const maxFill = 500

// FillStack puts boards into a stack: codes names boards or whole lots, parted
// by commas or blanks; of a lot its live boards on the rack. layer is the layer
// they lie in, counted from the bottom, or empty. edit names the stack and who
// does it. Every board that moves keeps the move in its history. It returns how
// many moved.
func (s *Store) FillStack(ctx context.Context, edit Edit, codes, layer string) (int, error) {
	names := strings.FieldsFunc(codes, func(r rune) bool { return strings.ContainsRune(" ,;\t\r\n", r) })
	if len(names) == 0 {
		return 0, FieldErrors{{Field: "codes", Problem: "is missing", Remedy: "write the codes of boards or lots, for example K7MWX-3 or K7MWX"}}
	}
	moved := 0
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		moved = 0
		stack, err := Stacks.one(ctx, tx, edit.ID)
		if err != nil {
			return err
		}
		boards, err := boardsNamed(ctx, tx, names)
		if err != nil {
			return err
		}
		for _, b := range boards {
			if b.Stack.ID == stack.ID && b.LeftStack == nil && strings.TrimSpace(layer) == "" {
				continue
			}
			move := edit
			move.ID, move.Version, move.Why = b.ID, b.Version, "stickered into "+clip(stack.Name)
			if _, err := Boards.correct(ctx, tx, move, map[string]string{"stack": stack.ID.String(), "layer": layer, "left_stack": ""}, s.Now()); err != nil {
				return err
			}
			moved++
		}
		return nil
	})
	return moved, err
}

// TakeOut takes boards out of a stack on a day, typed as days are: codes names
// boards of it. edit names the stack, who does it and why. What they read while
// they lay there still tells how the stack dries. It returns how many left.
func (s *Store) TakeOut(ctx context.Context, edit Edit, codes, day string) (int, error) {
	names := strings.FieldsFunc(codes, func(r rune) bool { return strings.ContainsRune(" ,;\t\r\n", r) })
	if len(names) == 0 {
		return 0, FieldErrors{{Field: "codes", Problem: "is missing", Remedy: "write the codes of the boards, for example K7MWX-3"}}
	}
	if strings.TrimSpace(day) == "" {
		day = "today"
	}
	left := 0
	err := s.Tx(ctx, func(tx pgx.Tx) error {
		left = 0
		stack, err := Stacks.one(ctx, tx, edit.ID)
		if err != nil {
			return err
		}
		boards, err := boardsNamed(ctx, tx, names)
		if err != nil {
			return err
		}
		for _, b := range boards {
			if b.Stack.ID != stack.ID || b.LeftStack != nil {
				return FieldErrors{{Field: "codes", Value: clip(b.Code), Problem: fmt.Sprintf("names a board that does not lie in this stack (%s)", b.Code), Remedy: "name boards of the list above"}}
			}
			out := edit
			out.ID, out.Version = b.ID, b.Version
			after, err := Boards.correct(ctx, tx, out, map[string]string{"left_stack": day}, s.Now())
			if err != nil {
				return err
			}
			if after.LeftStack != nil && after.LeftStack.Before(stack.Stickered) {
				return FieldErrors{{Field: "left_stack", Value: day, Problem: "lies before the stack was stickered", Remedy: "check the day"}}
			}
			left++
		}
		return nil
	})
	return left, err
}

// boardsNamed finds live boards on the rack by their codes or their lots'.
func boardsNamed(ctx context.Context, tx pgx.Tx, names []string) ([]Board, error) {
	var out []Board
	seen := make(map[uuid.UUID]bool)
	for _, name := range names {
		if f := checkText(name); f != nil {
			f.Field, f.Value = "codes", clip(strings.ToValidUTF8(name, "�"))
			return nil, FieldErrors{f}
		}
		found, err := Boards.list(ctx, tx, `WHERE t.struck_at IS NULL AND t.state = 'rack' AND (t.code = upper(split_part($1, '-', 1)) || '-' || lower(split_part($1, '-', 2))
			OR (t.label = $1 AND t.label <> '') OR t.lot_id = (SELECT id FROM lot WHERE struck_at IS NULL AND (code = upper($1) OR (label = $1 AND label <> '')) LIMIT 1))
			ORDER BY length(t.code), t.code`, name)
		if err != nil {
			return nil, err
		}
		if len(found) == 0 {
			return nil, FieldErrors{{Field: "codes", Value: clip(name), Problem: fmt.Sprintf("names no board on the rack and no lot with boards (%s)", clip(name)), Remedy: "check the code, like K7MWX-3 for a board or K7MWX for all boards of a lot"}}
		}
		for _, b := range found {
			if !seen[b.ID] {
				seen[b.ID] = true
				out = append(out, b)
			}
		}
	}
	if len(out) > maxFill {
		return nil, FieldErrors{{Field: "codes", Problem: fmt.Sprintf("names %d boards, at most %d fit one form", len(out), maxFill), Remedy: "enter them lot by lot"}}
	}
	return out, nil
}
