//go:build unix && !linux

package cluster

import (
	"context"
	"errors"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// fateOf says what the process with that pid is. Without /proc the server of
// this cluster is known by its program and by the name it was started with.
func (o *opening) fateOf(pid int) fate {
	if err := syscall.Kill(pid, 0); errors.Is(err, syscall.ESRCH) {
		return gone
	}
	program, err := ps(pid, "comm=")
	if err != nil {
		return unknown
	}
	if name := filepath.Base(program); name != "postgres" && name != "postmaster" {
		return stranger
	}
	args, err := ps(pid, "args=")
	switch {
	case err != nil:
		return unknown
	case strings.Contains(args, "cluster_name="+clusterName(o.dir.path)):
		return survivor
	case strings.Contains(args, "cluster_name=skepwood-"):
		return stranger // the server of another data directory
	}
	return unknown
}

func ps(pid int, column string) (string, error) {
	out, err := output(context.Background(), "/bin/ps", "-ww", "-o", column, "-p", strconv.Itoa(pid))
	return strings.TrimSpace(out), err
}

// dismissOrphans waits, as the caller does, for the processes of a killed
// server to notice: only /proc would tell which they are.
func (o *opening) dismissOrphans(context.Context) {}
