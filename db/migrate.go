package db

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"sync"

	_ "github.com/jackc/pgx/v5/stdlib" // goose speaks database/sql
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migrations returns the numbered SQL files.
var migrations = sync.OnceValue(func() fs.FS {
	sub, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		panic(err) // the directory is embedded: cannot happen
	}
	return sub
})

// LatestVersion is the schema version this program knows.
var LatestVersion = sync.OnceValue(func() int64 {
	sources, err := goose.NewProvider(goose.DialectPostgres, offline{}.open(), migrations())
	if err != nil {
		panic(fmt.Sprintf("the embedded migrations are wrong: %v", err))
	}
	list := sources.ListSources()
	return list[len(list)-1].Version
})

// offline opens a handle that never connects: listing migrations needs one.
type offline struct{}

func (offline) open() *sql.DB {
	handle, err := sql.Open("pgx", "")
	if err != nil {
		panic(err) // the driver is linked in: cannot happen
	}
	return handle
}

// Migrate brings the database at url to this program's schema under a lock,
// so that two programs starting at once do it once. It needs a role that may
// create tables and, the first time, roles. A database of a later version is
// refused with ErrNewerDatabase and left alone.
func Migrate(ctx context.Context, url string) error {
	provider, closeAll, err := openProvider(url)
	if err != nil {
		return err
	}
	defer closeAll()
	have, err := provider.GetDBVersion(ctx)
	if unreached := reach(err); unreached != nil {
		return unreached
	}
	if err != nil {
		return fmt.Errorf("read the schema version: %w", err)
	}
	if have > LatestVersion() {
		return checkVersion(have)
	}
	if _, err := provider.Up(ctx); err != nil {
		if hasCode(err, codeInsufficientRights) {
			return fmt.Errorf("the database user may not create what the book needs; run once as an administrator: "+
				"CREATE ROLE %s NOLOGIN; GRANT %s TO that user; and give the user CREATE on the schema: %w", appRole, appRole, err)
		}
		return fmt.Errorf("migrate the database: %w", err)
	}
	return nil
}

// MigrateDownTo takes the schema back to version; tests use it to show that
// each step can be undone.
func MigrateDownTo(ctx context.Context, url string, version int64) error {
	provider, closeAll, err := openProvider(url)
	if err != nil {
		return err
	}
	defer closeAll()
	_, err = provider.DownTo(ctx, version)
	return err
}

func openProvider(url string) (*goose.Provider, func(), error) {
	handle, err := sql.Open("pgx", url)
	if err != nil {
		return nil, nil, fmt.Errorf("open the database: %w", err)
	}
	locker, err := lock.NewPostgresSessionLocker()
	if err != nil {
		return nil, nil, errors.Join(err, handle.Close())
	}
	provider, err := goose.NewProvider(goose.DialectPostgres, handle, migrations(), goose.WithSessionLocker(locker))
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("read the migrations: %w", err), handle.Close())
	}
	return provider, func() { _ = provider.Close() }, nil
}

// checkVersion compares the schema found with the one this program knows.
func checkVersion(have int64) error {
	want := LatestVersion()
	switch {
	case have > want:
		return fmt.Errorf("%w: its schema is %d, this program knows %d; install the later version, or restore a backup made before it",
			ErrNewerDatabase, have, want)
	case have < want:
		return fmt.Errorf("the database's schema is %d and this program needs %d; run `skepwood migrate`", have, want)
	default:
		return nil
	}
}

// SchemaHash changes whenever a migration does; test databases are kept by it.
func SchemaHash() string {
	sum := sha256.New()
	err := fs.WalkDir(migrations(), ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(migrations(), p)
		fmt.Fprintf(sum, "%s\x00%s\x00", p, data)
		return err
	})
	if err != nil {
		panic(err) // the files are embedded: cannot happen
	}
	return hex.EncodeToString(sum.Sum(nil)[:8])
}
