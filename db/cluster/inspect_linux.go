package cluster

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// fateOf says what the process with that pid is: the server of this cluster
// is a postgres whose working directory is the cluster.
func (o *opening) fateOf(pid int) fate {
	if pid == os.Getpid() {
		return stranger
	}
	proc := fmt.Sprintf("/proc/%d", pid)
	program, err := os.Readlink(filepath.Join(proc, "exe"))
	switch {
	case err == nil:
	case errors.Is(err, fs.ErrPermission):
		return o.fateByArguments(proc)
	default:
		if _, err := os.Stat(proc); err != nil {
			return gone
		}
		return stranger // a zombie or a thread of the kernel
	}
	if !isPostgres(program) {
		return stranger
	}
	data, err := o.dir.Stat(dataName)
	if err != nil {
		return unknown
	}
	at, err := os.Stat(filepath.Join(proc, "cwd"))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return gone
	case err != nil:
		return unknown
	case os.SameFile(at, data):
		return survivor
	}
	return stranger
}

// fateByArguments recognises a server by its command line, which is open to
// all. Root without the right to trace, as in many containers, may not look
// closer at the processes of others.
func (o *opening) fateByArguments(proc string) fate {
	line, err := os.ReadFile(filepath.Join(proc, "cmdline"))
	if err != nil {
		return gone
	}
	if bytes.HasPrefix(line, []byte("postgres: "+clusterName(o.dir.path)+": ")) {
		return survivor // a process of a server writes what it does over its arguments
	}
	args := bytes.Split(line, []byte{0})
	if !isPostgres(string(args[0])) {
		return stranger
	}
	for _, arg := range args[1:] {
		if name, named := bytes.CutPrefix(arg, []byte("cluster_name=skepwood-")); named {
			if "skepwood-"+string(name) == clusterName(o.dir.path) {
				return survivor
			}
			return stranger // the server of another data directory
		}
	}
	return unknown
}

// dismissOrphans ends the processes of a server that was killed: one that is
// busy with a long query does not notice the death of its server and keeps
// the cluster closed. It rolls back when the new server recovers.
func (o *opening) dismissOrphans(ctx context.Context) {
	entries, err := os.ReadDir("/proc")
	if err != nil {
		return
	}
	for _, entry := range entries {
		pid, err := strconv.Atoi(entry.Name())
		if err != nil {
			continue
		}
		process, err := os.FindProcess(pid)
		if err != nil {
			continue
		}
		if o.fateOf(pid) == survivor {
			o.log.WarnContext(ctx, "ending a process of a server that was killed", "pid", pid)
			_ = process.Signal(syscall.SIGQUIT) // one that has ended meanwhile is as good
		}
		_ = process.Release()
	}
}

// isPostgres tells whether the path of a running program is a PostgreSQL
// server's; one that was upgraded since it started counts too.
func isPostgres(program string) bool {
	name := filepath.Base(strings.TrimSuffix(program, " (deleted)"))
	return name == "postgres" || name == "postmaster"
}
