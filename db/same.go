package db

import (
	"context"
	"reflect"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// MadeError says that an id which a form brought belongs to another entry
// already: the form was sent, changed and sent again. Nothing of the second
// was stored. It unwraps to FieldErrors with one fault of the whole entry.
type MadeError struct {
	Kind string
	ID   uuid.UUID
	// Struck says that the entry was struck through since.
	Struck bool
}

// Error says what happened and what to do.
func (e *MadeError) Error() string { return e.faults().Error() }

// Unwrap gives access to the fault.
func (e *MadeError) Unwrap() error { return e.faults() }

func (e *MadeError) faults() FieldErrors {
	problem := "this form was sent before and made a " + e.Kind + " that says something else"
	if e.Struck {
		problem = "this form was sent before, and the " + e.Kind + " it made is struck through"
	}
	return FieldErrors{{Problem: problem, Remedy: "look at that one in the Book; send this again to enter a second " + e.Kind}}
}

// sameAgain returns nil where the stored entry says what rec says, and a
// *MadeError otherwise. asked are the values before prepare: what the book
// filled in itself is not compared, nor are moments, which stand for "now"
// where nobody typed them.
func (e *Entity[T]) sameAgain(ctx context.Context, tx pgx.Tx, rec *T, asked []any) error {
	stored, err := e.one(ctx, tx, e.base(rec).ID)
	if err != nil {
		return err
	}
	made := &MadeError{Kind: e.table, ID: e.base(rec).ID, Struck: e.base(&stored).StruckAt != nil}
	if made.Struck {
		return made
	}
	filled, kept := e.values(rec), e.values(&stored)
	for i := range e.columns {
		if _, moment := e.columns[i].Codec.(instantCodec); moment || e.columns[i].Hidden || !sameValue(asked[i], filled[i]) {
			continue
		}
		if !sameValue(filled[i], kept[i]) {
			return made
		}
	}
	return nil
}

// values copies the values of the columns, references as ids.
func (e *Entity[T]) values(rec *T) []any {
	out := make([]any, len(e.columns))
	for i := range e.columns {
		out[i] = e.columns[i].arg(rec)
		if p := reflect.ValueOf(out[i]); p.Kind() == reflect.Pointer {
			out[i] = p.Elem().Interface()
		}
	}
	return out
}

func sameValue(a, b any) bool {
	if at, ok := a.(time.Time); ok {
		bt, ok := b.(time.Time)
		return ok && at.Equal(bt)
	}
	return reflect.DeepEqual(a, b)
}
