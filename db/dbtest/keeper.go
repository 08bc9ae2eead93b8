package dbtest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"skepwood/db/cluster"
)

// keeperVariable turns a test binary into the keeper of the run it names.
const keeperVariable = "SKEPWOOD_DBTEST_KEEPER"

// binVariable is the setting for the folder of the PostgreSQL binaries, the
// same as the program's.
const binVariable = "SKEPWOOD_PG_BIN"

// The keeper is the test binary itself, started once more: whatever machine
// runs the tests has it.
func init() {
	order := os.Getenv(keeperVariable)
	if order == "" {
		return
	}
	var r run
	if err := json.Unmarshal([]byte(order), &r); err != nil {
		os.Exit(2)
	}
	_ = os.Unsetenv(keeperVariable)
	if err := keep(r); err != nil {
		os.Exit(1)
	}
	os.Exit(0)
}

// answer is what the keeper tells the run's test binaries in a file.
type answer struct {
	URL   string
	Error string
}

// The names in the folder where test binaries and keeper meet.
const (
	answerName = "server.json"
	lockName   = "lock"
	logName    = "keeper.log"
)

// meetingPlace returns the folder of the run: a small one, always in the
// temporary directory, wherever the cluster's files are.
func (r run) meetingPlace() string { return filepath.Join(os.TempDir(), r.name()) }

// testOptions trade durability, which throw-away data does not need, for
// speed. Autovacuum would only get in the way of copying and dropping.
var testOptions = map[string]string{
	"autovacuum": "off",
	"fsync":      "off",
	// Shared memory in the cluster's folder, which is removed whatever happens.
	"dynamic_shared_memory_type": "mmap",
	"full_page_writes":           "off",
	"max_connections":            "300",
	"max_wal_senders":            "0",
	"min_wal_size":               "32MB",
	"synchronous_commit":         "off",
	"wal_level":                  "minimal",
	"wal_init_zero":              "off",
	"wal_recycle":                "off",
}

// keep starts a cluster, says where it is, and removes every trace when the
// run has ended, however it ended.
func keep(r run) error {
	signals := endSignals()
	place := r.meetingPlace()
	defer func() { _ = os.RemoveAll(place) }()
	sweepFolders(r)
	log := keeperLog(place)
	dir := filepath.Join(dataPlace(), r.name())
	defer func() { _ = os.RemoveAll(dir) }()
	c, err := startCluster(r, dir, log)
	if err != nil {
		reply := writeAnswer(place, answer{Error: err.Error()})
		r.wait(signals, nil) // so that the others of this run read why
		return errors.Join(err, reply)
	}
	if err := writeAnswer(place, answer{URL: c.URL("postgres")}); err != nil {
		log.Error("cannot tell where the server is", "error", err)
	} else {
		r.wait(signals, c.Done())
	}
	endAtOnce(c.PID()) // nothing is worth a checkpoint
	_ = c.Stop(context.Background())
	return nil
}

// startCluster makes the cluster in the folder, which must be new: anyone may
// make folders beside it. It gives up when the run ends meanwhile.
func startCluster(r run, dir string, log *slog.Logger) (*cluster.Cluster, error) {
	if err := os.Mkdir(dir, 0o711); err != nil {
		return nil, fmt.Errorf("make a folder for the test server: %w", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	started := make(chan struct{})
	defer close(started)
	go func() {
		for r.alive() {
			select {
			case <-started:
				return
			case <-time.After(watchInterval):
			}
		}
		cancel()
	}()
	return cluster.Start(ctx, cluster.Config{
		Dir:     filepath.Join(dir, "cluster"),
		BinDir:  os.Getenv(binVariable),
		Log:     log,
		Options: testOptions,
	})
}

// watchInterval is how often the keeper looks after its run.
const watchInterval = 50 * time.Millisecond

// wait returns when the run has ended, the server is down or a signal came.
func (r run) wait(signals <-chan os.Signal, down <-chan struct{}) {
	for r.alive() {
		select {
		case <-signals:
			return
		case <-down:
			return
		case <-time.After(watchInterval):
		}
	}
}

// enoughMemory is the room that /dev/shm must have; containers often give it
// 64 MB.
const enoughMemory = 256 << 20

// dataPlace returns the folder for the cluster's files.
func dataPlace() string {
	if memory != "" && freeBytes(memory) >= enoughMemory {
		return memory
	}
	return os.TempDir()
}

// sweepFolders removes the folders of runs whose keeper was killed.
func sweepFolders(mine run) {
	for _, place := range []string{memory, os.TempDir()} {
		entries, err := os.ReadDir(place)
		if err != nil {
			continue
		}
		for _, entry := range entries {
			if r, ours := parseName(entry.Name()); ours && r != mine && !r.alive() {
				_ = os.RemoveAll(filepath.Join(place, entry.Name()))
			}
		}
	}
}

func keeperLog(place string) *slog.Logger {
	file, err := os.OpenFile(filepath.Join(place, logName), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return slog.New(slog.DiscardHandler)
	}
	return slog.New(slog.NewTextHandler(file, nil)) // open until the keeper ends
}

// writeAnswer puts the answer in place whole.
func writeAnswer(place string, a answer) error {
	content, err := json.Marshal(a)
	if err != nil {
		return fmt.Errorf("write the keeper's answer: %w", err)
	}
	temp := filepath.Join(place, answerName+".tmp")
	if err := os.WriteFile(temp, content, 0o600); err != nil {
		return err
	}
	return os.Rename(temp, filepath.Join(place, answerName))
}
