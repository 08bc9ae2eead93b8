package dbtest_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"skepwood/db/dbtest"
)

// schema has the size of a small book's.
func migrate(ctx context.Context, url string) error {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	for i := range 8 {
		_, err := conn.Exec(ctx, fmt.Sprintf(`CREATE TABLE t%d (id uuid PRIMARY KEY, name text UNIQUE, at timestamptz, n int CHECK (n > 0));
			CREATE INDEX ON t%[1]d (at); CREATE INDEX ON t%[1]d (n, at)`, i))
		if err != nil {
			return err
		}
	}
	return nil
}

var template = dbtest.Template{Name: "self", Hash: "1", Migrate: migrate}

func TestParallel(t *testing.T) {
	t.Parallel()
	for i := range 20 {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			t.Parallel()
			conn, err := pgx.Connect(t.Context(), template.New(t))
			require.NoError(t, err)
			defer conn.Close(context.Background())
			_, err = conn.Exec(t.Context(), "INSERT INTO t0 VALUES (gen_random_uuid(), 'same', now(), 1)")
			require.NoError(t, err)
		})
	}
}
