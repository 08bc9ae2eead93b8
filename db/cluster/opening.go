package cluster

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"os/exec"
	"path"
	"strconv"
	"strings"
)

// opening is a data directory on its way to a running cluster. Whoever holds
// one holds the lock.
type opening struct {
	cfg  Config
	log  *slog.Logger
	dir  *folder
	id   identity
	held *os.File // the lock

	closed   bool // see reach
	password string
	freePort func() (int, error)
}

// open makes the directory if need be and locks it.
func open(ctx context.Context, cfg Config, path string) (*opening, error) {
	id, err := chooseIdentity(path, cfg.RunAs)
	if err != nil {
		return nil, err
	}
	dir, err := openFolder(path, id)
	if err != nil {
		return nil, err
	}
	held, err := dir.lock(ctx)
	if err != nil {
		return nil, errors.Join(err, dir.Close())
	}
	return &opening{cfg: cfg, log: cfg.logger(), dir: dir, id: id, held: held, freePort: freePort}, nil
}

// close releases the lock. The file stays, since removing it could pull it
// from under a program that has just opened it.
func (o *opening) close() {
	_ = o.held.Truncate(0) // a pid that is no longer ours must not be shown
	_ = unlock(o.held)     // closing alone waits for every copy of the file to be closed
	_ = o.held.Close()
	_ = o.dir.Close()
}

// choose returns the installation for the cluster in the directory: the
// newest for a new one, and for one that exists the version that made it.
func (o *opening) choose(found []Binaries) (bins Binaries, exists bool, err error) {
	if _, err := o.dir.Lstat("PG_VERSION"); err == nil {
		return Binaries{}, false, &NotClusterError{Path: o.dir.path, Reason: "is itself a PostgreSQL cluster, and not one of skepwood's"}
	}
	content, err := o.dir.ReadFile(path.Join(dataName, "PG_VERSION"))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return found[0], false, o.checkVacant()
	case err != nil:
		return Binaries{}, false, fmt.Errorf("read the version of the cluster: %w", err)
	}
	version := strings.TrimSpace(string(content))
	for _, bins := range found {
		if strconv.Itoa(bins.Version) == version {
			return bins, true, nil
		}
	}
	return Binaries{}, true, &VersionError{Dir: o.dir.path, Cluster: version, Found: found[0]}
}

// checkVacant refuses to make a cluster where something else lies.
func (o *opening) checkVacant() error {
	entries, err := fs.ReadDir(o.dir.FS(), dataName)
	switch {
	case errors.Is(err, fs.ErrNotExist), err == nil && len(entries) == 0:
		return nil
	case err != nil:
		return err
	}
	return &NotClusterError{Path: o.dir.at(dataName), Reason: "holds files but no PostgreSQL cluster (no PG_VERSION)"}
}

// checkMode refuses a cluster that PostgreSQL would refuse, with the remedy.
func (o *opening) checkMode() error {
	info, err := o.dir.Stat(dataName)
	if err != nil {
		return err
	}
	if mode := info.Mode().Perm(); hasModes && mode&0o027 != 0 {
		return &FolderModeError{Path: o.dir.at(dataName), Mode: mode}
	}
	return o.dir.checkOwner()
}

// tryAccess finds out whether the user that PostgreSQL runs as can walk to
// the binaries and to the directory, by sending a small program there.
func (o *opening) tryAccess(ctx context.Context, bins Binaries) error {
	if !o.id.drop {
		return nil
	}
	var refused *exec.ExitError
	program := bins.program("postgres")
	if err := run(ctx, exec.Command("/bin/ls", program), o.id); errors.As(err, &refused) {
		return o.id.closedFolder(program)
	}
	err := run(ctx, exec.Command("/bin/ls", "-d", o.dir.path+"/."), o.id)
	o.closed = err != nil // the way around works in any case
	if _, err := os.Stat("/proc/self/fd"); o.closed && err != nil {
		return o.id.closedFolder(o.dir.path)
	}
	return ctx.Err()
}

// loadPassword reads the password of the owner role, or makes one for a new
// cluster.
func (o *opening) loadPassword(exists bool) error {
	content, err := o.dir.ReadFile(passwordName)
	if err == nil {
		o.password = strings.TrimSpace(string(content))
	}
	switch {
	case err == nil && o.password != "":
		return o.closePassword()
	case exists && err == nil:
		return &PasswordError{Path: o.dir.at(passwordName), Err: errors.New("it is empty")}
	case exists:
		return &PasswordError{Path: o.dir.at(passwordName), Err: err}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	secret := make([]byte, 32)
	if _, err := rand.Read(secret); err != nil {
		return fmt.Errorf("make a password: %w", err)
	}
	o.password = hex.EncodeToString(secret)
	if err := o.dir.replaceFile(passwordName, []byte(o.password+"\n")); err != nil {
		return fmt.Errorf("store the password: %w", err)
	}
	return nil
}

// closePassword takes the password file away from everyone else, if a copy or
// a careless chmod has opened it.
func (o *opening) closePassword() error {
	info, err := o.dir.Lstat(passwordName)
	if err != nil {
		return err
	}
	if hasModes && info.Mode().Perm() != 0o600 {
		o.log.Warn("the password file was open to others", "path", o.dir.at(passwordName), "mode", info.Mode().String())
		if err := o.dir.Chmod(passwordName, 0o600); err != nil {
			return err
		}
	}
	return o.dir.own(passwordName)
}

// clusterName is what the server calls itself: in its command line, by which
// it can be recognised, and in the list of processes.
func clusterName(path string) string {
	sum := sha256.Sum256([]byte(path))
	return "skepwood-" + hex.EncodeToString(sum[:8])
}
