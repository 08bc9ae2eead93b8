package cluster

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"strconv"
	"strings"
	"time"
)

// postmaster.pid is PostgreSQL's own lock on a cluster. Its lines are the
// pid of the server, the directory, the start time, the port, the socket
// directory, the address, the shared memory and the state.
var pidFileName = path.Join(dataName, "postmaster.pid")

const stateLine = 7

// fate is what became of the server that wrote a postmaster.pid.
type fate int

const (
	// gone: no process has that pid.
	gone fate = iota
	// stranger: another process has the pid now, or a dead one that nobody
	// has buried.
	stranger
	// survivor: the server of this cluster is alive.
	survivor
	// unknown: the system does not tell.
	unknown
)

// readPIDFile returns the pid in postmaster.pid and the state of that server,
// such as "starting" and "ready". The pid is 0 if there is none to read.
func (f *folder) readPIDFile() (pid int, state string, err error) {
	content, err := f.ReadFile(pidFileName)
	if err != nil {
		return 0, "", err
	}
	pid, state = parsePIDFile(string(content))
	return pid, state, nil
}

func parsePIDFile(content string) (pid int, state string) {
	lines := strings.Split(content, "\n")
	number, err := strconv.ParseInt(strings.TrimSpace(lines[0]), 10, 32)
	if err != nil {
		return 0, "" // empty after a power cut
	}
	if len(lines) > stateLine {
		state = strings.TrimSpace(lines[stateLine])
	}
	return int(max(number, -number)), state // negative when written by a server without clients
}

// settle deals with the postmaster.pid that an earlier server left. Whoever
// calls it holds the lock on the data directory, so no program looks after
// that server any more. PostgreSQL itself would look only whether a process
// with that pid exists, and refuse to start if by now it is someone else's.
func (o *opening) settle(ctx context.Context) error {
	pid, _, err := o.dir.readPIDFile()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("read what the last server left: %w", err)
	case pid == 0:
		o.log.WarnContext(ctx, "removing an unreadable postmaster.pid")
		return o.dir.Remove(pidFileName)
	}
	switch o.fateOf(pid) {
	case gone:
		return nil
	case stranger:
		o.log.InfoContext(ctx, "the pid of the last server belongs to another process now", "pid", pid)
		return o.dir.disownPIDFile()
	case survivor:
		o.log.WarnContext(ctx, "stopping a server that outlived its program", "pid", pid)
		return o.stopSurvivor(ctx, pid)
	default:
		return &InUseError{Dir: o.dir.path, PID: pid, Server: true}
	}
}

// disownPIDFile writes this program's pid over that of the dead server. The
// new server sees its parent's pid, knows that its parent is no server, and
// goes on to check that nobody is attached to the shared memory named in the
// file: a check that would be lost if the file were removed.
func (f *folder) disownPIDFile() error {
	content, err := f.ReadFile(pidFileName)
	if err != nil {
		return err
	}
	_, rest, _ := bytes.Cut(content, []byte("\n"))
	return f.replaceFile(pidFileName, fmt.Appendf(nil, "%d\n%s", os.Getpid(), rest))
}

// survivorPatience is how long a server that outlived its program gets to
// shut down.
const survivorPatience = 20 * time.Second

// stopSurvivor stops the server and waits until it is gone. The handle is
// taken before the server is recognised once more, so that on Linux the
// signal cannot reach another process that takes the pid in between.
func (o *opening) stopSurvivor(ctx context.Context, pid int) error {
	refused := &InUseError{Dir: o.dir.path, PID: pid, Server: true}
	server, err := os.FindProcess(pid)
	if err != nil {
		return fmt.Errorf("%w (%w)", refused, err)
	}
	defer func() { _ = server.Release() }()
	if o.fateOf(pid) == survivor {
		if err := stopSurvivor(server); err != nil && !errors.Is(err, os.ErrProcessDone) {
			return fmt.Errorf("%w (%w)", refused, err)
		}
	}
	ctx, cancel := context.WithTimeout(ctx, survivorPatience)
	defer cancel()
	for o.fateOf(pid) == survivor {
		if !pause(ctx, 20*time.Millisecond) {
			return refused
		}
	}
	return o.settle(ctx) // what it left, if anything
}
