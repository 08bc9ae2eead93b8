package cluster

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// address is where the server listens: a unix socket in a directory, or a
// port of the loopback interface when the directory is empty.
type address struct {
	sockets string
	port    int
}

const socketPort = 5432 // only a part of the socket's name

// chooseAddress prefers the unix socket. It returns loopback with a free
// port where the system has no such sockets or the path is too long for one.
func (o *opening) chooseAddress() (address, error) {
	sockets := o.dir.at(socketsName)
	socket := filepath.Join(sockets, ".s.PGSQL."+strconv.Itoa(socketPort))
	switch {
	case o.cfg.TCP || maxSocketPath == 0:
	case len(socket) > maxSocketPath:
		o.log.Info("the path is too long for a unix socket: listening on loopback", "path", socket, "limit", maxSocketPath)
	case strings.Contains(sockets, ","):
		o.log.Info("a comma in the path separates hosts: listening on loopback", "path", socket)
	default:
		return address{sockets: sockets, port: socketPort}, nil
	}
	port, err := o.freePort()
	if err != nil {
		return address{}, fmt.Errorf("find a free port: %w", err)
	}
	return address{port: port}, nil
}

// freePort asks the system for a port that nobody uses. Somebody may take it
// before the server does; see startServer.
func freePort() (int, error) {
	listener, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	return listener.Addr().(*net.TCPAddr).Port, listener.Close()
}

// clearSockets removes sockets and their lock files from the socket
// directory. No server of this cluster runs, and a lock file with a pid that
// someone else has by now would keep the next one from starting.
func (o *opening) clearSockets() error {
	if err := o.dir.makeDir(socketsName); err != nil {
		return fmt.Errorf("make the directory of the socket: %w", err)
	}
	if err := o.dir.Chmod(socketsName, 0o700); err != nil {
		return fmt.Errorf("close the directory of the socket: %w", err)
	}
	entries, err := fs.ReadDir(o.dir.FS(), socketsName)
	if err != nil {
		return fmt.Errorf("read the directory of the socket: %w", err)
	}
	for _, entry := range entries {
		if strings.HasPrefix(entry.Name(), ".s.PGSQL.") {
			if err := o.dir.Remove(path.Join(socketsName, entry.Name())); err != nil {
				return fmt.Errorf("remove a stale socket: %w", err)
			}
		}
	}
	return nil
}

// The failures to start that pass: the server may be tried again.
const (
	addressInUse = "Address already in use"
	memoryInUse  = "pre-existing shared memory block"
)

// startServer starts the server and tries again for as long as it fails for
// a passing reason: another program was quicker to take the free port, or
// the processes of a killed server are still about to notice its death.
func (o *opening) startServer(ctx context.Context, bins Binaries) (*Cluster, error) {
	patience, cancel := context.WithTimeout(ctx, 15*time.Second)
	defer cancel()
	for {
		c, err := o.tryServer(ctx, bins)
		var failed *ServerError
		if err == nil || !errors.As(err, &failed) {
			return c, err
		}
		switch {
		case strings.Contains(failed.Output, addressInUse):
		case strings.Contains(failed.Output, memoryInUse):
			o.dismissOrphans(ctx)
		default:
			return nil, err
		}
		o.log.InfoContext(ctx, "trying to start again", "error", err)
		if !pause(patience, 100*time.Millisecond) {
			return nil, err
		}
	}
}

// tryServer starts the server once and waits until it is ready.
func (o *opening) tryServer(ctx context.Context, bins Binaries) (*Cluster, error) {
	at, err := o.chooseAddress()
	if err != nil {
		return nil, err
	}
	output, offset, err := o.openLog()
	if err != nil {
		return nil, err
	}
	defer func() { _ = output.Close() }()
	reach := o.reach()
	defer reach.close()
	args, err := o.serverArgs(at, reach)
	if err != nil {
		return nil, err
	}
	cmd := exec.Command(bins.program("postgres"), args...)
	cmd.Stdout, cmd.Stderr, cmd.ExtraFiles = output, output, reach.files
	server, err := launch(cmd, o.id, lastShutdown)
	if err != nil {
		return nil, &ServerError{Op: "start", Err: err}
	}
	c := &Cluster{opening: o, bins: bins, at: at, server: server, offset: offset, done: make(chan struct{})}
	if err := c.waitReady(ctx); err != nil {
		if server.ended() {
			return nil, &ServerError{Op: "start", Err: server.err, Output: tail(output, offset, 4096), Log: o.dir.at(logName)}
		}
		c.end(ctx)
		return nil, err
	}
	return c, nil
}

// serverArgs is the command line of the server: its settings live there and
// not in the files of the cluster, so that each version of this program
// brings its own.
func (o *opening) serverArgs(at address, reach *reach) ([]string, error) {
	data, err := reach.path(dataName)
	if err != nil {
		return nil, err
	}
	settings := map[string]string{
		"cluster_name":            clusterName(o.dir.path),
		"jit":                     "off", // costs more than it gains in short queries
		"lc_messages":             "C",
		"listen_addresses":        "127.0.0.1",
		"log_destination":         "stderr",
		"log_timezone":            "UTC",
		"logging_collector":       "off",
		"port":                    strconv.Itoa(at.port),
		"timezone":                "UTC",
		"unix_socket_directories": "",
	}
	if at.sockets != "" {
		sockets, err := reach.path(socketsName)
		if err != nil {
			return nil, err
		}
		settings["listen_addresses"] = ""
		settings["unix_socket_directories"] = `"` + strings.ReplaceAll(sockets, `"`, `""`) + `"`
		settings["unix_socket_permissions"] = "0700"
	}
	maps.Copy(settings, o.cfg.Options)
	args := []string{"-D", data}
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		args = append(args, "-c", name+"="+settings[name])
	}
	return args, nil
}

// maxLog is the size in bytes from which a log is put aside at start.
const maxLog = 10 << 20

// openLog opens the log for appending and returns where this run begins.
func (o *opening) openLog() (*os.File, int64, error) {
	if info, err := o.dir.Lstat(logName); err == nil && info.Size() > maxLog {
		if err := o.dir.Rename(logName, oldLogName); err != nil {
			o.log.Warn("the log could not be put aside", "error", err)
		}
	}
	file, err := o.dir.openFile(logName, os.O_APPEND)
	if err != nil {
		return nil, 0, fmt.Errorf("open the log of the server: %w", err)
	}
	info, err := file.Stat()
	if err != nil {
		return nil, 0, errors.Join(err, file.Close())
	}
	return file, info.Size(), nil
}
