// Package dbtest gives each test a PostgreSQL database of its own.
//
// A Template is a migrated database that is built once; Template.New copies
// it for a test and drops the copy when the test ends. Tests may run in
// parallel.
//
// The server is a private cluster without durability that the first test to
// need it starts and that every package of the same `go test` run shares. A
// keeper process, in a session of its own, owns it: when the `go test` that
// wanted it ends, however it ends, the keeper stops the cluster and removes
// its files. They lie in /dev/shm when that has room, because a copy of a
// database there takes milliseconds.
//
// With SKEPWOOD_TEST_DATABASE_URL the databases are made on that server
// instead; its role needs the right to create databases and the server must
// be version 15 or later.
//
// Without PostgreSQL on the machine a test is skipped with a message, except
// where CI=true, where it fails.
//
// Only tests may import this package.
package dbtest
