package cluster

import (
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
)

// Owner is the name of the role that owns the cluster and every database in
// it. It is a superuser of the private cluster and of nothing else.
const Owner = "skepwood"

// MinVersion is the oldest major version of PostgreSQL that is accepted.
const MinVersion = 15

// Config says where the cluster lives and how to run it. Only Dir is needed.
type Config struct {
	// Dir is the data directory of the program; it is made if it does not
	// exist. See DefaultDir.
	Dir string

	// BinDir is the folder of the PostgreSQL binaries, or the folder above
	// it. Empty means search; see FindBinaries.
	BinDir string

	// Log receives what happens at start and stop. Nil means nowhere.
	Log *slog.Logger

	// Options are server settings, by name, that take precedence over those
	// of this package: "fsync": "off" for a cluster that tests throw away.
	Options map[string]string

	// TCP makes the server listen on 127.0.0.1 with a free port although a
	// unix socket would be possible.
	TCP bool

	// RunAs is the user, by name, that PostgreSQL runs as when the program
	// is root. Empty means the owner of the existing cluster, else postgres,
	// else nobody. It is ignored when the program is not root.
	RunAs string
}

func (c Config) logger() *slog.Logger {
	if c.Log == nil {
		return slog.New(slog.DiscardHandler)
	}
	return c.Log
}

// DefaultDir returns the data directory to use when the keeper named none:
// /var/lib/skepwood for root, whose home an unprivileged PostgreSQL usually
// cannot enter, and otherwise the place for application data in the home of
// the user. It fails when the environment names no home.
func DefaultDir() (string, error) {
	return defaultDir(runtime.GOOS, os.Geteuid(), os.Getenv)
}

var errNoHome = errors.New("the environment names no home directory: name a data directory")

func defaultDir(goos string, uid int, getenv func(string) string) (string, error) {
	home := getenv("HOME")
	switch {
	case goos == "windows" && getenv("LOCALAPPDATA") != "":
		return filepath.Join(getenv("LOCALAPPDATA"), "Skepwood"), nil
	case goos == "windows":
		return "", errNoHome
	case uid == 0:
		return "/var/lib/skepwood", nil
	case goos == "darwin" && home != "":
		return filepath.Join(home, "Library", "Application Support", "Skepwood"), nil
	case filepath.IsAbs(getenv("XDG_DATA_HOME")):
		return filepath.Join(getenv("XDG_DATA_HOME"), "skepwood"), nil
	case home != "":
		return filepath.Join(home, ".local", "share", "skepwood"), nil
	}
	return "", errNoHome
}
