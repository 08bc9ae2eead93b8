package dbtest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"skepwood/db/cluster"
)

// askKeeper returns the URL of the run's server. The first test binary of a
// run starts the keeper; the others wait at the lock and read its answer.
func askKeeper(ctx context.Context) (string, error) {
	r := thisRun()
	place := r.meetingPlace()
	if err := enter(place); err != nil {
		return "", err
	}
	held, err := os.OpenFile(filepath.Join(place, lockName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return "", err
	}
	defer func() { _ = held.Close() }()
	if err := lock(held); err != nil {
		return "", fmt.Errorf("wait for the other packages' tests: %w", err)
	}
	if url, err := readAnswer(place); !errors.Is(err, fs.ErrNotExist) {
		return url, err
	}
	// Asked here too, for an error that giveUp can recognise.
	if _, err := cluster.FindBinaries(ctx, os.Getenv(binVariable)); err != nil {
		return "", errors.Join(err, os.RemoveAll(place))
	}
	return startKeeper(ctx, r)
}

// enter makes the meeting place. Its name can be guessed, so one that
// someone else has made is not trusted.
func enter(place string) error {
	if err := os.Mkdir(place, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	info, err := os.Lstat(place)
	if err != nil {
		return err
	}
	if !info.IsDir() || !isOwn(info) {
		return fmt.Errorf("%s belongs to someone else: remove it", place)
	}
	return nil
}

// startKeeper starts this binary once more and waits for its answer. The
// keeper inherits no files: whoever reads the output of the tests would wait
// for it to close them.
func startKeeper(ctx context.Context, r run) (string, error) {
	binary, err := os.Executable()
	if err != nil {
		return "", err
	}
	order, err := json.Marshal(r)
	if err != nil {
		return "", err
	}
	cmd := exec.Command(binary)
	cmd.Dir = os.TempDir()
	cmd.Env = append(os.Environ(), keeperVariable+"="+string(order))
	detach(cmd)
	if err := cmd.Start(); err != nil {
		return "", fmt.Errorf("start the keeper of the test server: %w", err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	for {
		url, err := readAnswer(r.meetingPlace())
		if !errors.Is(err, fs.ErrNotExist) {
			return url, err
		}
		select {
		case err := <-ended:
			return "", fmt.Errorf("the keeper of the test server ended early (%w)", err)
		case <-ctx.Done():
			return "", fmt.Errorf("wait for the test server: %w", ctx.Err())
		case <-time.After(5 * time.Millisecond):
		}
	}
}

func readAnswer(place string) (string, error) {
	content, err := os.ReadFile(filepath.Join(place, answerName))
	if err != nil {
		return "", err
	}
	var a answer
	if err := json.Unmarshal(content, &a); err != nil {
		return "", fmt.Errorf("read the keeper's answer: %w", err)
	}
	if a.Error != "" {
		return "", errors.New(a.Error)
	}
	return a.URL, nil
}
