package db

import (
	"errors"
	"fmt"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
)

// reach puts a failed connection in one line with what to do; the driver tells
// each way that it tried in a line of its own, without a remedy. Other errors
// are returned as they are, nil where err is none of a connection.
func reach(err error) error {
	var failed *pgconn.ConnectError
	if !errors.As(err, &failed) {
		return nil
	}
	cfg := failed.Config
	where := net.JoinHostPort(cfg.Host, fmt.Sprint(cfg.Port))
	if strings.HasPrefix(cfg.Host, "/") {
		where = cfg.Host
	}
	return &ReachError{Where: where, User: cfg.User, Database: cfg.Database, Reason: reasonOf(failed), err: err}
}

// ReachError says that the database server did not let the book in.
type ReachError struct {
	// Where is the server's host and port, or the folder of its socket.
	Where, User, Database string
	Reason                string
	err                   error
}

// Error says where, why and what to do.
func (e *ReachError) Error() string {
	return fmt.Sprintf("the database %q at %s cannot be reached as user %q: %s. Start that server, or correct the address in SKEPWOOD_DATABASE_URL or --database-url; without one the book keeps a database of its own",
		e.Database, e.Where, e.User, e.Reason)
}

// Unwrap returns what the driver said.
func (e *ReachError) Unwrap() error { return e.err }

// reasonOf is why a connection failed, once.
func reasonOf(failed *pgconn.ConnectError) string {
	var server *pgconn.PgError
	var network *net.OpError
	switch {
	case errors.As(failed, &server):
		return "the server says: " + server.Message
	case errors.As(failed, &network):
		return network.Err.Error()
	}
	lines := strings.Split(strings.TrimSpace(failed.Error()), "\n")
	return strings.TrimSpace(lines[len(lines)-1])
}
