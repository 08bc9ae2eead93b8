package cluster

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// Cluster is a running private cluster. It is safe for concurrent use.
type Cluster struct {
	*opening

	bins   Binaries
	at     address
	server *process
	offset int64 // where this run begins in the log

	mu       sync.Mutex
	stopping bool
	err      error
	stop     sync.Once
	done     chan struct{} // closed after err is set
}

// Start makes the cluster in cfg.Dir if there is none, starts it and returns
// when it accepts connections; ctx bounds the start only. It returns
// *MissingBinariesError, *InUseError, *VersionError, *ClosedFolderError,
// *FolderModeError, *FolderOwnerError, *NotClusterError, *PasswordError or
// *ServerError, or the error of the file system.
func Start(ctx context.Context, cfg Config) (*Cluster, error) {
	if cfg.Dir == "" {
		return nil, errors.New("start the private cluster: no data directory was named")
	}
	path, err := filepath.Abs(cfg.Dir)
	if err != nil {
		return nil, fmt.Errorf("find the data directory: %w", err)
	}
	found, err := findAll(ctx, cfg.BinDir)
	if err != nil {
		return nil, err
	}
	o, err := open(ctx, cfg, path)
	if err != nil {
		return nil, err
	}
	c, err := o.start(ctx, found)
	if err != nil {
		o.close()
		return nil, err
	}
	return c, nil
}

// start takes the locked directory through all its checks to a running
// server; everything that could refuse comes before anything is changed.
func (o *opening) start(ctx context.Context, found []Binaries) (*Cluster, error) {
	began := time.Now()
	bins, exists, err := o.choose(found)
	if err != nil {
		return nil, err
	}
	if exists {
		if err := o.checkMode(); err != nil {
			return nil, err
		}
	}
	if err := o.tryAccess(ctx, bins); err != nil {
		return nil, err
	}
	if err := o.loadPassword(exists); err != nil {
		return nil, err
	}
	if exists {
		err = o.settle(ctx)
	} else {
		err = o.initialise(ctx, bins)
	}
	if err != nil {
		return nil, err
	}
	if err := o.clearSockets(); err != nil {
		return nil, err
	}
	c, err := o.startServer(ctx, bins)
	if err != nil {
		return nil, err
	}
	if err := c.greet(ctx); err != nil {
		c.end(ctx)
		return nil, err
	}
	go c.watch()
	o.log.InfoContext(ctx, "private cluster is ready", "dir", o.dir.path, "version", bins.Full, "pid", c.PID(),
		"user", o.id.name, "new", !exists, "took", time.Since(began))
	return c, nil
}

// waitReady waits until the server says in its pid file that it is ready.
func (c *Cluster) waitReady(ctx context.Context) error {
	for {
		pid, state, err := c.dir.readPIDFile()
		switch {
		case err != nil && !errors.Is(err, fs.ErrNotExist):
			return fmt.Errorf("wait for the server: %w", err)
		case pid == c.PID() && state == "ready":
			return nil
		case c.server.ended():
			return c.server.err
		case !pause(ctx, 5*time.Millisecond):
			return fmt.Errorf("wait for the server: %w", ctx.Err())
		}
	}
}

// greet connects once, which shows that the password fits.
func (c *Cluster) greet(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, c.URL("postgres"))
	var refused *pgconn.PgError
	switch {
	case errors.As(err, &refused) && refused.Code == "28P01":
		return &PasswordError{Path: c.dir.at(passwordName), Err: errors.New("the server refuses the password in it")}
	case err != nil:
		return fmt.Errorf("connect to the private cluster: %w", err)
	}
	return conn.Close(ctx)
}

// watch notes how the server ended.
func (c *Cluster) watch() {
	<-c.server.done
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.stopping {
		c.err = c.unexpectedEnd()
		c.log.Error("the database server ended by itself", "error", c.err)
	}
	close(c.done)
}

func (c *Cluster) unexpectedEnd() error {
	end := &ServerError{Op: "run", Err: c.server.err, Log: c.dir.at(logName)}
	if end.Err == nil {
		end.Err = errors.New("someone else stopped it")
	}
	if file, err := c.dir.Open(logName); err == nil {
		end.Output = tail(file, c.offset, 2048)
		_ = file.Close()
	}
	return end
}

// URL returns the connection URL of the database for the role Owner. It holds
// the password. The database "postgres" always exists; others are made by
// EnsureDatabase.
func (c *Cluster) URL(database string) string {
	u := url.URL{Scheme: "postgres", User: url.UserPassword(Owner, c.password), Path: "/" + database}
	query := url.Values{}
	if c.at.sockets != "" {
		query.Set("host", c.at.sockets)
		query.Set("port", strconv.Itoa(c.at.port))
	} else {
		u.Host = "127.0.0.1:" + strconv.Itoa(c.at.port)
		query.Set("sslmode", "disable")
	}
	// PostgreSQL's own programs take a plus sign in a URL for itself.
	u.RawQuery = strings.ReplaceAll(query.Encode(), "+", "%20")
	return u.String()
}

// EnsureDatabase makes the database, owned by Owner, if it does not exist.
func (c *Cluster) EnsureDatabase(ctx context.Context, database string) error {
	conn, err := pgx.Connect(ctx, c.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connect to the private cluster: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }()
	_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{database}.Sanitize())
	var refused *pgconn.PgError
	if errors.As(err, &refused) && (refused.Code == "42P04" || refused.Code == "23505") { // exists, or another was quicker
		return nil
	}
	if err != nil {
		return fmt.Errorf("make the database %s: %w", database, err)
	}
	return nil
}

// Binaries returns the installation that runs the cluster.
func (c *Cluster) Binaries() Binaries { return c.bins }

// PID returns the process id of the PostgreSQL server.
func (c *Cluster) PID() int { return c.server.pid() }

// Done returns a channel that is closed when the server has ended, whoever
// ended it.
func (c *Cluster) Done() <-chan struct{} { return c.done }

// Err returns nil while the server runs and after Stop ended it, and a
// *ServerError when it ended by itself.
func (c *Cluster) Err() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.err
}

// Stop ends the server: open transactions are rolled back, a checkpoint is
// written. It takes at most five seconds, less if ctx ends sooner; a server
// that is not down by then is ended at once and recovers at the next start,
// which Stop reports as an error. A ctx that is done already does not count,
// since it is often the one whose end asks for the stop. Calling Stop again,
// or after the server has ended by itself, is harmless.
func (c *Cluster) Stop(ctx context.Context) error {
	if ctx.Err() != nil {
		ctx = context.WithoutCancel(ctx)
	}
	var err error
	c.stop.Do(func() {
		c.mu.Lock()
		c.stopping = true
		c.mu.Unlock()
		err = c.end(ctx)
		<-c.done
		c.close()
	})
	<-c.done
	return err
}

// The shares of the five seconds.
const (
	fastPatience      = 4000 * time.Millisecond
	immediatePatience = 900 * time.Millisecond
)

// errForced is what Stop returns when the server had to be ended at once.
var errForced = errors.New("the database server took too long to stop and was ended at once; it recovers at the next start")

// end stops the process by ever harder means.
func (c *Cluster) end(ctx context.Context) error {
	if c.server.ended() {
		return nil
	}
	began := time.Now()
	asked := c.server.fastStop(c.bins)
	if asked == nil && c.server.endsWithin(ctx, fastPatience) {
		c.log.Info("private cluster is down", "took", time.Since(began))
		return nil
	}
	// The remaining steps are not bound to ctx: no process may stay behind.
	rest := context.WithoutCancel(ctx)
	if c.server.immediateStop(c.bins) != nil || !c.server.endsWithin(rest, immediatePatience) {
		c.server.kill()
		<-c.server.done
	}
	return errForced
}
