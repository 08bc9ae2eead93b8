package cluster

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDefaultDir(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		system string
		uid    int
		env    map[string]string
		want   string
	}{
		"root":            {"linux", 0, map[string]string{"HOME": "/root", "XDG_DATA_HOME": "/root/x"}, "/var/lib/skepwood"},
		"root on macOS":   {"darwin", 0, map[string]string{"HOME": "/var/root"}, "/var/lib/skepwood"},
		"user":            {"linux", 1000, map[string]string{"HOME": "/home/u"}, "/home/u/.local/share/skepwood"},
		"user with XDG":   {"linux", 1000, map[string]string{"HOME": "/home/u", "XDG_DATA_HOME": "/data"}, "/data/skepwood"},
		"relative XDG":    {"linux", 1000, map[string]string{"HOME": "/home/u", "XDG_DATA_HOME": "data"}, "/home/u/.local/share/skepwood"},
		"user on macOS":   {"darwin", 501, map[string]string{"HOME": "/Users/u"}, "/Users/u/Library/Application Support/Skepwood"},
		"no home":         {"linux", 1000, nil, ""},
		"no Windows home": {"windows", -1, map[string]string{"HOME": "/x"}, ""},
	} {
		got, err := defaultDir(test.system, test.uid, func(name string) string { return test.env[name] })
		require.Equal(t, filepath.FromSlash(test.want), got, name)
		require.Equal(t, test.want == "", err != nil, name)
	}
	_, err := DefaultDir()
	if os.Getenv("HOME") != "" || os.Geteuid() == 0 {
		require.NoError(t, err)
	}
}

func TestChildEnv(t *testing.T) {
	t.Parallel()
	got := childEnv([]string{
		"PATH=/bin", "PGDATA=/x", "PGPORT=1", "LC_ALL=de_DE.UTF-8", "LC_MESSAGES=de", "LANG=de", "LANGUAGE=de", "TZ=Asia/Tokyo",
		"SKEPWOOD_DATABASE_URL=secret", "NOTIFY_SOCKET=/run/x", "LD_LIBRARY_PATH=/lib", "HOME=/h", "EMPTY",
	})
	require.Equal(t, []string{"PATH=/bin", "LD_LIBRARY_PATH=/lib", "HOME=/h", "EMPTY", "LC_ALL=C", "TZ=UTC"}, got)
}

// Every message tells what happened, where, and what to do.
func TestMessages(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		err  error
		want []string
	}{
		{&InUseError{Dir: "/d", PID: 7}, []string{"/d", "process 7", "stop that one"}},
		{&InUseError{Dir: "/d"}, []string{"in use by another skepwood:"}},
		{&ClosedFolderError{Path: "/root/b/postgres", Folder: "/root", Mode: os.ModeDir | 0o700, User: "postgres"}, []string{"/root ", "0700", "postgres", "/root/b/postgres", "/var/lib/skepwood"}},
		{&FolderOwnerError{Path: "/d/pgdata", Owner: "ann", User: "postgres"}, []string{"ann", "chown -R postgres /d"}},
		{&NotClusterError{Path: "/d", Reason: "is odd"}, []string{"/d is odd", "move it away"}},
		{&PasswordError{Path: "/d/pg.password", Err: os.ErrNotExist}, []string{"/d/pg.password", "file does not exist", "backup"}},
		{&ServerError{Op: "run", Err: fmt.Errorf("signal: killed"), Output: "PANIC", Log: "/d/pg.log"}, []string{"ended by itself", "signal: killed", "PANIC", "/d/pg.log"}},
		{&ServerError{Op: "initdb", Err: fmt.Errorf("exit status 1")}, []string{"could not make a new cluster (exit status 1)"}},
		{&VersionError{Dir: "/d", Cluster: "14", Found: Binaries{Dir: "/b", Version: 15}}, []string{"PostgreSQL 14", "version 15", "/b", "mv /d/pgdata /d/pgdata.14", "-h /d/pg.sock -U skepwood"}},
		{&VersionError{Dir: "/my book", Cluster: "14"}, []string{"mv '/my book/pgdata' '/my book/pgdata.14'", "$(cat '/my book/pg.password')", "-h '/my book/pg.sock' "}},
		{&FolderModeError{Path: "/it's/pgdata", Mode: 0o755}, []string{"0755", `chmod -R u=rwX,g=,o= '/it'\''s/pgdata'`}},
		{errNoUser, []string{"ordinary user"}},
	} {
		for _, want := range test.want {
			require.ErrorContains(t, test.err, want)
		}
	}
}
