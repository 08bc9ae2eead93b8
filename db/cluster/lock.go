package cluster

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"
)

// errLocked is what tryLock returns when another program holds the lock.
var errLocked = errors.New("locked")

// lock takes the lock on the data directory and writes this program's pid
// into it. The system releases the lock when the program dies.
func (f *folder) lock(ctx context.Context) (*os.File, error) {
	file, err := f.openFile(lockName, 0)
	if err != nil {
		return nil, fmt.Errorf("open the lock of the data directory: %w", err)
	}
	if err := tryLock(file); err != nil {
		if errors.Is(err, errLocked) {
			err = &InUseError{Dir: f.path, PID: f.lockHolder(ctx)}
		}
		return nil, errors.Join(err, file.Close())
	}
	if err := writePID(file); err != nil {
		return nil, errors.Join(fmt.Errorf("write the lock of the data directory: %w", err), file.Close())
	}
	return file, nil
}

func writePID(file *os.File) error {
	if err := file.Truncate(0); err != nil {
		return err
	}
	_, err := file.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	return err
}

// lockHolder reads the pid in the lock. Between taking the lock and writing
// the pid there is a moment, so an empty file is read again for a while.
func (f *folder) lockHolder(ctx context.Context) int {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	for {
		content, err := f.ReadFile(lockName)
		if err != nil {
			return 0
		}
		if pid, err := strconv.Atoi(strings.TrimSpace(string(content))); err == nil {
			return pid
		}
		if !pause(ctx, 10*time.Millisecond) {
			return 0
		}
	}
}

// pause waits for d and tells whether ctx still lasts.
func pause(ctx context.Context, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(d):
		return true
	}
}
