package cluster

import "context"

// Cluster is a running private cluster.
type Cluster struct {
	done chan struct{}
}

// Start makes the cluster in cfg.Dir if there is none, starts it and returns
// when it accepts connections; ctx bounds the start only. It returns
// *MissingBinariesError, *InUseError, *VersionError, *ClosedFolderError,
// *FolderModeError, *FolderOwnerError, *PasswordError or *ServerError, or the
// error of the file system.
func Start(ctx context.Context, cfg Config) (*Cluster, error) {
	_, err := FindBinaries(ctx, cfg.BinDir)
	return nil, err
}

// URL returns the connection URL of the database for the role Owner. It holds
// the password. The database "postgres" always exists; others are made by
// EnsureDatabase.
func (c *Cluster) URL(database string) string { return "" }

// EnsureDatabase makes the database, owned by Owner, if it does not exist.
func (c *Cluster) EnsureDatabase(ctx context.Context, database string) error { return nil }

// Binaries returns the installation that runs the cluster.
func (c *Cluster) Binaries() Binaries { return Binaries{} }

// PID returns the process id of the PostgreSQL server.
func (c *Cluster) PID() int { return 0 }

// Done returns a channel that is closed when the server has ended, whoever
// ended it.
func (c *Cluster) Done() <-chan struct{} { return c.done }

// Err returns nil while the server runs and after Stop ended it, and a
// *ServerError when it ended by itself.
func (c *Cluster) Err() error { return nil }

// Stop ends the server: open transactions are rolled back, a checkpoint is
// written. It takes at most five seconds, or until ctx is done; a server that
// is not down by then is ended at once and recovers at the next start, which
// Stop reports as an error. Calling it again is harmless.
func (c *Cluster) Stop(ctx context.Context) error { return nil }
