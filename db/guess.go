package db

import (
	"context"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"skepwood/analytics/moisture"
)

// guessCodec is a guess of a species in a *string: woods with their shares.
type guessCodec struct{}

func (guessCodec) parse(dst any, text string, _ Env) *FieldError {
	shares, err := moisture.ParseGuess(text)
	if err != nil {
		problem := strings.TrimPrefix(err.Error(), moisture.ErrClue.Error()+": ")
		return fault("cannot be read: %s", "write woods with their share in percent, like spruce_norway 60; pine_scots 30", clip(problem))
	}
	*dst.(*string) = moisture.WriteGuess(shares, len(shares))
	return nil
}

func (guessCodec) print(src any, _ Env) string { return *src.(*string) }

// Shares are the guess of the board's wood, nil where there is none or the
// species is named.
func (b *Board) Shares() []moisture.SpeciesShare { return guessOptions(b.Species, b.Guess).Guess }

// noGuess is what readings of a named wood, or of one nobody guessed, are
// corrected with.
var noGuess = &moisture.Options{}

// guessOptions says how readings of a board are corrected: by its species, or
// averaged over what it may be.
func guessOptions(species, guess string) *moisture.Options {
	if species != "" || guess == "" {
		return noGuess
	}
	shares, err := moisture.ParseGuess(guess)
	if err != nil { // an id that later tables lack: any wood then
		return noGuess
	}
	return &moisture.Options{Guess: shares}
}

// addWood adds n boards to what a stack's boards are.
func addWood(woods []moisture.SpeciesShare, species, guess string, n float64) []moisture.SpeciesShare {
	shares := guessOptions(species, guess).Guess
	if len(shares) == 0 {
		shares = []moisture.SpeciesShare{{ID: species, P: 1}}
	}
	for _, s := range shares {
		i := slices.IndexFunc(woods, func(w moisture.SpeciesShare) bool { return w.ID == s.ID })
		if i < 0 {
			woods, i = append(woods, moisture.SpeciesShare{ID: s.ID}), len(woods)
		}
		woods[i].P += n * s.P
	}
	return woods
}

// guessesOf returns the guesses of those boards whose species is unsure.
func guessesOf(ctx context.Context, q querier, boards []uuid.UUID) (map[uuid.UUID]string, error) {
	rows, err := q.Query(ctx, `SELECT id, species_guess FROM board WHERE id = ANY($1) AND species = '' AND species_guess <> ''`, boards)
	if err != nil {
		return nil, err
	}
	out := make(map[uuid.UUID]string)
	var id uuid.UUID
	var guess string
	_, err = pgx.ForEachRow(rows, []any{&id, &guess}, func() error { out[id] = guess; return nil })
	return out, err
}

// SourcePast counts the species of the live boards that came from the same
// source as a lot, other lots included; boards of unknown wood are not counted.
func (s *Store) SourcePast(ctx context.Context, lot uuid.UUID) (map[string]int, error) {
	rows, err := s.pool.Query(ctx, `SELECT b.species, count(*)::int FROM board b JOIN lot l ON l.id = b.lot_id JOIN pickup p ON p.id = l.pickup_id
		WHERE b.struck_at IS NULL AND b.species <> '' AND p.source_id = (SELECT q.source_id FROM lot m JOIN pickup q ON q.id = m.pickup_id WHERE m.id = $1)
		GROUP BY b.species`, lot)
	if err != nil {
		return nil, err
	}
	out := make(map[string]int)
	var species string
	var n int
	_, err = pgx.ForEachRow(rows, []any{&species, &n}, func() error { out[species] = n; return nil })
	return out, err
}
