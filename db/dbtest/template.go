package dbtest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5/pgxpool"
)

const (
	templatePrefix = "skepwood_tmpl_"
	buildingSuffix = "_building"

	// templateLock is the advisory lock under which templates are built: an
	// arbitrary number that only has to be the same everywhere.
	templateLock = 0x736b6570

	codeNoDatabase = "3D000"
)

// family begins the names of all versions of the template.
func (t Template) family() string {
	name := strings.Map(func(r rune) rune {
		if r == '_' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, strings.ToLower(t.Name))
	return templatePrefix + name[:min(len(name), 20)] + "_"
}

// database is the name of the template's database; it fits into the 63 bytes
// of a name with the suffix.
func (t Template) database() string {
	sum := sha256.Sum256([]byte(t.Name + "\x00" + t.Hash))
	return t.family() + hex.EncodeToString(sum[:6])
}

// copyTemplate makes a test database and returns its name. On a server that
// others use too, the template may have been swept by a run with later
// migrations; then it is built again.
func (s *server) copyTemplate(ctx context.Context, t Template) (string, error) {
	name := testName()
	for again := false; ; again = true {
		if err := s.ensure(ctx, t, again); err != nil {
			return "", err
		}
		err := s.create(ctx, name, t.database())
		if err == nil || again || !hasCode(err, codeNoDatabase) {
			return name, err
		}
	}
}

// ensure builds the template if it is not there. The first test of a process
// does; the others wait for it and see the same result.
func (s *server) ensure(ctx context.Context, t Template, again bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	err, known := s.ready[t.database()]
	if known && !again {
		return err
	}
	err = s.ensureLocked(ctx, t)
	if ctx.Err() == nil { // a test that gave up says nothing about the template
		s.ready[t.database()] = err
	}
	return err
}

// ensureLocked keeps other processes out while it looks and builds.
func (s *server) ensureLocked(ctx context.Context, t Template) error {
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	defer conn.Release()
	if _, err := conn.Exec(ctx, "SELECT pg_advisory_lock($1)", templateLock); err != nil {
		return err
	}
	defer func() {
		_, _ = conn.Exec(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1)", templateLock)
	}()
	var exists bool
	err = conn.QueryRow(ctx, "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", t.database()).Scan(&exists)
	if err != nil || exists {
		return err
	}
	if s.external {
		s.forget(ctx, t)
	}
	return s.build(ctx, conn, t)
}

// build migrates under another name and renames, so that a template that
// exists is complete.
func (s *server) build(ctx context.Context, conn *pgxpool.Conn, t Template) error {
	building := t.database() + buildingSuffix
	if err := s.drop(ctx, building); err != nil {
		return err
	}
	if err := s.create(ctx, building, "template0"); err != nil {
		return err
	}
	if err := t.Migrate(ctx, s.urlOf(building)); err != nil {
		return errors.Join(fmt.Errorf("migrate the template %s: %w", t.Name, err), s.drop(context.WithoutCancel(ctx), building))
	}
	// A connection that was closed a moment ago may still be ending.
	_, err := conn.Exec(ctx, "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = $1", building)
	if err != nil {
		return err
	}
	_, err = conn.Exec(ctx, "ALTER DATABASE "+quote(building)+" RENAME TO "+quote(t.database()))
	return err
}

// forget drops the template's earlier versions, except while they are copied.
func (s *server) forget(ctx context.Context, t Template) {
	for _, name := range s.databases(ctx, t.family()) {
		_, _ = s.pool.Exec(ctx, "DROP DATABASE IF EXISTS "+quote(name))
	}
}
