//go:build unix

package cluster

import (
	"context"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

func TestNewCluster(t *testing.T) {
	t.Parallel()
	bins := need(t)
	cfg := config(t, filepath.Join(openPlace(t), "new", "book"))
	require.NoError(t, os.MkdirAll(filepath.Join(cfg.Dir, dataName), 0o755), "an empty folder is no hindrance")
	cfg.Options = nil
	c := start(t, cfg)
	require.Equal(t, bins, c.Binaries())

	for setting, want := range map[string]string{
		"data_checksums":          "on",
		"server_encoding":         "UTF8",
		"password_encryption":     "scram-sha-256",
		"fsync":                   "on",
		"listen_addresses":        "",
		"unix_socket_permissions": "0700",
		"timezone":                "UTC",
		"lc_messages":             "C",
	} {
		require.Equal(t, want, ask(t, c.URL("postgres"), "SELECT current_setting('"+setting+"')"), setting)
	}
	require.Contains(t, []string{"C", "C.UTF-8"}, ask(t, c.URL("postgres"), "SELECT datcollate FROM pg_database WHERE datname = 'template1'"))
	require.Equal(t, "scram-sha-256", ask(t, c.URL("postgres"), "SELECT string_agg(DISTINCT auth_method, ',') FROM pg_hba_file_rules"))

	for name, mode := range map[string]os.FileMode{dataName: 0o700, socketsName: 0o700, passwordName: 0o600, lockName: 0o600, logName: 0o600} {
		info, err := os.Stat(filepath.Join(cfg.Dir, name))
		require.NoError(t, err)
		require.Equal(t, mode, info.Mode().Perm(), name)
	}
	require.NoDirExists(t, filepath.Join(cfg.Dir, freshName))

	group, err := syscall.Getpgid(c.PID())
	require.NoError(t, err)
	require.Equal(t, c.PID(), group, "the Ctrl-C of a terminal goes to every process of its group")
	_, err = pgx.Connect(t.Context(), strings.Replace(c.URL("postgres"), c.password, "guessed", 1))
	require.ErrorContains(t, err, "password authentication failed")

	require.NoError(t, c.EnsureDatabase(t.Context(), `the "book"`))
	require.NoError(t, c.EnsureDatabase(t.Context(), `the "book"`))
	require.Equal(t, Owner, ask(t, c.URL(`the "book"`), "SELECT current_user::text"))

	require.NoError(t, c.Err())
	require.NoError(t, c.Stop(context.Background()))
	<-c.Done()
	require.NoError(t, c.Err())
	require.NoError(t, c.Stop(context.Background()), "a second time")
	log, err := os.ReadFile(filepath.Join(cfg.Dir, logName))
	require.NoError(t, err)
	require.Contains(t, string(log), "database system is shut down")
	requireNoProcess(t, cfg.Dir)
}

func TestAddresses(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		dir     func(longest int) string
		address string
	}{
		"awkward path":    {func(int) string { return `the keeper's "wood" %20 é` }, "socket"},
		"longest path":    {func(longest int) string { return strings.Repeat("x", longest) }, "socket"},
		"too long a path": {func(longest int) string { return strings.Repeat("x", longest+1) }, "127.0.0.1"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			cfg := book(t)
			place := filepath.Dir(cfg.Dir)
			moved := filepath.Join(place, test.dir(maxSocketPath-len(filepath.Join(place, "x", socketsName, ".s.PGSQL.5432"))+1))
			require.NoError(t, os.Rename(cfg.Dir, moved))
			cfg.Dir = moved
			c := start(t, cfg)
			requireKept(t, c.URL("postgres"))
			require.Equal(t, test.address, ask(t, c.URL("postgres"), "SELECT coalesce(host(inet_server_addr()), 'socket')"))
		})
	}
}

func TestChooseAddress(t *testing.T) {
	t.Parallel()
	for dir, socket := range map[string]bool{"/d": true, "/a b": true, "/crates,pallets": false, "/" + strings.Repeat("x", maxSocketPath): false} {
		o := &opening{log: slog.New(slog.DiscardHandler), dir: &folder{path: dir}, freePort: func() (int, error) { return 17, nil }}
		at, err := o.chooseAddress()
		require.NoError(t, err)
		require.Equal(t, socket, at.sockets != "", dir)
		o.cfg.TCP = true
		at, err = o.chooseAddress()
		require.NoError(t, err)
		require.Equal(t, address{port: 17}, at)
	}
}

// Between finding a free port and listening on it somebody else may take it.
func TestPortTaken(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	cfg.TCP = true
	taken, err := net.Listen("tcp4", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	all, err := findAll(t.Context(), cfg.BinDir)
	require.NoError(t, err)
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	asked := 0
	o.freePort = func() (int, error) {
		asked++
		if asked == 1 {
			return taken.Addr().(*net.TCPAddr).Port, nil
		}
		return freePort()
	}
	c, err := o.start(t.Context(), all)
	require.NoError(t, err)
	defer c.Stop(context.Background())
	require.Equal(t, 2, asked)
	requireKept(t, c.URL("postgres"))
}

func TestBadOption(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	cfg.Options = map[string]string{"no_such_setting": "on"}
	_, err := Start(t.Context(), cfg)
	var failed *ServerError
	require.ErrorAs(t, err, &failed)
	require.ErrorContains(t, err, "no_such_setting")
	require.ErrorContains(t, err, logName)
	log, err := os.ReadFile(filepath.Join(cfg.Dir, logName))
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(log), "no_such_setting"), "a failure that does not pass is not tried again")
}

func TestNoDir(t *testing.T) {
	t.Parallel()
	_, err := Start(t.Context(), Config{})
	require.ErrorContains(t, err, "no data directory")
}

// An init that was cancelled leaves neither files nor processes.
func TestCancelInit(t *testing.T) {
	t.Parallel()
	need(t)
	cfg := config(t, filepath.Join(openPlace(t), "d"))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() {
		for pause(ctx, time.Millisecond) {
			if _, err := os.Stat(filepath.Join(cfg.Dir, freshName, "PG_VERSION")); err == nil {
				cancel()
			}
		}
	}()
	_, err := Start(ctx, cfg)
	require.ErrorIs(t, err, context.Canceled)
	require.NoDirExists(t, filepath.Join(cfg.Dir, dataName))
	require.NoDirExists(t, filepath.Join(cfg.Dir, freshName))
	requireNoProcess(t, cfg.Dir)
}

func TestLogPutAside(t *testing.T) {
	t.Parallel()
	cfg := book(t)
	require.NoError(t, os.Truncate(filepath.Join(cfg.Dir, logName), maxLog+1))
	o, err := open(t.Context(), cfg, cfg.Dir)
	require.NoError(t, err)
	defer o.close()
	file, offset, err := o.openLog()
	require.NoError(t, err)
	require.NoError(t, file.Close())
	require.Zero(t, offset)
	old, err := os.Stat(filepath.Join(cfg.Dir, oldLogName))
	require.NoError(t, err)
	require.EqualValues(t, maxLog+1, old.Size())
}
