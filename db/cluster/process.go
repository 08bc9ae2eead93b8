package cluster

import (
	"context"
	"io"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"time"
)

// process is a running child.
type process struct {
	cmd  *exec.Cmd
	done chan struct{} // closed when it has ended and err is set
	err  error
}

// launch starts the command, as the user id, in a process group of its own,
// so that signals from the terminal do not reach it, and so that it dies
// with the program where the system offers that.
func launch(cmd *exec.Cmd, id identity, last lastSignal) (*process, error) {
	cmd.Dir = rootDir() // the program's own may be closed to the user
	if cmd.Env == nil {
		cmd.Env = childEnv(os.Environ())
	}
	setAttributes(cmd, id, last)
	p := &process{cmd: cmd, done: make(chan struct{})}
	started := make(chan error)
	go func() {
		// On Linux the child is told of the death of the thread that
		// started it, not of the program's: this thread must live as long
		// as the child does.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		if err := cmd.Start(); err != nil {
			started <- err
			return
		}
		close(started)
		p.err = cmd.Wait()
		close(p.done)
	}()
	return p, <-started
}

// run launches the command and waits for its end or for ctx, whose end ends
// the whole group: gently first, since a PostgreSQL that is killed leaves
// shared memory behind.
func run(ctx context.Context, cmd *exec.Cmd, id identity) error {
	p, err := launch(cmd, id, lastKill)
	if err != nil {
		return err
	}
	select {
	case <-p.done:
		return p.err
	case <-ctx.Done():
		p.terminate()
		if !p.endsWithin(context.WithoutCancel(ctx), time.Second) {
			p.kill()
			<-p.done
		}
		return ctx.Err()
	}
}

func (p *process) pid() int { return p.cmd.Process.Pid }

// ended tells whether the process has ended.
func (p *process) ended() bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

// endsWithin tells whether the process ends within d, or before ctx does.
func (p *process) endsWithin(ctx context.Context, d time.Duration) bool {
	select {
	case <-p.done:
		return true
	case <-time.After(d):
	case <-ctx.Done():
	}
	return p.ended()
}

// childEnv is the environment for PostgreSQL's programs: without settings
// and secrets that are none of their business or that would change what they
// do, and with English messages, which the program recognises.
func childEnv(environ []string) []string {
	kept := slices.DeleteFunc(slices.Clone(environ), func(entry string) bool {
		name, _, _ := strings.Cut(entry, "=")
		name = strings.ToUpper(name)
		return strings.HasPrefix(name, "PG") || strings.HasPrefix(name, "LC_") || strings.HasPrefix(name, "SKEPWOOD_") ||
			name == "LANG" || name == "LANGUAGE" || name == "NOTIFY_SOCKET" || name == "TZ"
	})
	return append(kept, "LC_ALL=C", "TZ=UTC")
}

// tail returns the end of the file from offset on, at most size bytes.
func tail(file *os.File, offset, size int64) string {
	info, err := file.Stat()
	if err != nil {
		return ""
	}
	offset = max(offset, info.Size()-size)
	content, err := io.ReadAll(io.NewSectionReader(file, offset, size))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(content))
}
