package cluster

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"strings"
)

// initialise makes a new cluster. It grows under another name, so that a
// kill in the middle leaves no half cluster under the right one.
func (o *opening) initialise(ctx context.Context, bins Binaries) error {
	o.log.InfoContext(ctx, "making a new cluster", "dir", o.dir.at(dataName), "version", bins.Full)
	// C.UTF-8 knows the letters of all languages and sorts the same
	// everywhere; systems without it get C.
	output, err := o.initdb(ctx, bins, "C.UTF-8")
	if err != nil && strings.Contains(output, "invalid locale") {
		output, err = o.initdb(ctx, bins, "C")
	}
	if err != nil {
		cleanup := o.dir.RemoveAll(freshName)
		if ctx.Err() != nil {
			return errors.Join(ctx.Err(), cleanup)
		}
		return errors.Join(&ServerError{Op: "initdb", Err: err, Output: output}, cleanup)
	}
	if err := o.dir.Remove(dataName); err != nil && !errors.Is(err, fs.ErrNotExist) { // an empty directory at most
		return fmt.Errorf("make room for the new cluster: %w", err)
	}
	if err := o.dir.Rename(freshName, dataName); err != nil {
		return fmt.Errorf("put the new cluster in place: %w", err)
	}
	o.dir.sync()
	return nil
}

// initdb runs the program of that name and returns what it wrote.
func (o *opening) initdb(ctx context.Context, bins Binaries, locale string) (string, error) {
	if err := o.dir.RemoveAll(freshName); err != nil {
		return "", fmt.Errorf("remove a cluster that was never finished: %w", err)
	}
	if err := o.dir.makeDir(freshName); err != nil {
		return "", err
	}
	args := []string{
		"--username=" + Owner, "--auth=scram-sha-256", "--data-checksums", "--encoding=UTF8",
		"--locale=" + locale, "--lc-messages=C", "--no-instructions",
	}
	if o.cfg.Options["fsync"] == "off" {
		args = append(args, "--no-sync")
	}
	reach := o.reach()
	defer reach.close()
	data, err := reach.path(freshName)
	if err != nil {
		return "", err
	}
	secret, err := reach.path(passwordName)
	if err != nil {
		return "", err
	}
	output, err := os.CreateTemp("", "skepwood-initdb-*.log")
	if err != nil {
		return "", fmt.Errorf("make a file for the messages of initdb: %w", err)
	}
	defer func() { _, _ = output.Close(), os.Remove(output.Name()) }()
	cmd := exec.Command(bins.program("initdb"), append(args, "--pgdata="+data, "--pwfile="+secret)...)
	cmd.Stdout, cmd.Stderr, cmd.ExtraFiles = output, output, reach.files
	err = run(ctx, cmd, o.id)
	return tail(output, 0, 4096), err
}
