package db

import (
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// The kinds of failure a caller can act on; test with errors.Is.
var (
	// ErrNotFound says that no entry has this id or code.
	ErrNotFound = errors.New("no such entry")
	// ErrNewerDatabase says that a later version of the program has migrated
	// the database.
	ErrNewerDatabase = errors.New("the database was written by a later version of skepwood")
	// ErrTaken says that a name or code that must be unique is in use.
	ErrTaken = errors.New("already in the book")
)

// FieldError is one wrong value: where it stands, what was typed, what is
// wrong and what to do.
type FieldError struct {
	// Field is the column's name; empty for a fault of the entry as a whole.
	Field string
	// Value is what was typed.
	Value string
	// Problem says what is wrong, Remedy what to do.
	Problem, Remedy string
}

// Error returns the fault as one sentence.
func (e *FieldError) Error() string {
	if e.Field == "" {
		return fmt.Sprintf("%s; %s", e.Problem, e.Remedy)
	}
	return fmt.Sprintf("%s %q: %s; %s", e.Field, e.Value, e.Problem, e.Remedy)
}

// FieldErrors is every fault found in one entry.
type FieldErrors []*FieldError

// Error returns the first fault and how many more there are.
func (e FieldErrors) Error() string {
	switch len(e) {
	case 0:
		return "no fault"
	case 1:
		return e[0].Error()
	default:
		return fmt.Sprintf("%s (and %d more)", e[0].Error(), len(e)-1)
	}
}

// For returns the first fault of the named field, or nil.
func (e FieldErrors) For(field string) *FieldError {
	for _, f := range e {
		if f.Field == field {
			return f
		}
	}
	return nil
}

// ConflictError says that somebody corrected the entry after it was read.
type ConflictError struct {
	Entity string
	ID     uuid.UUID
	// Version is the one now in the book.
	Version int
	// Now holds the values now in the book, by column.
	Now map[string]string
}

// Error says that the entry changed meanwhile.
func (e *ConflictError) Error() string {
	return fmt.Sprintf("this %s was corrected by somebody else meanwhile (version %d)", e.Entity, e.Version)
}

// notFound turns pgx's missing row into ErrNotFound, naming what was sought.
func notFound(err error, what string) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return fmt.Errorf("%s: %w", what, ErrNotFound)
	}
	return err
}

// Codes of PostgreSQL that the store acts on (appendix A of its manual).
const (
	codeUniqueViolation      = "23505"
	codeForeignKeyViolation  = "23503"
	codeCheckViolation       = "23514"
	codeSerializationFailure = "40001"
	codeDeadlockDetected     = "40P01"
	codeInsufficientRights   = "42501"
)

// hasCode reports whether err carries one of PostgreSQL's codes.
func hasCode(err error, codes ...string) bool {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return false
	}
	for _, c := range codes {
		if pg.Code == c {
			return true
		}
	}
	return false
}

// constraintOf returns the name of the violated constraint, or "".
func constraintOf(err error) string {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.ConstraintName
	}
	return ""
}
