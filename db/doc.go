// Package db keeps the book in PostgreSQL: migrations, one file per kind of
// entry, corrections that never erase, the figures derived from entries, and
// the spreadsheets the book reads and writes.
//
// Every kind of entry (source, pickup, lot, finding, board, defect, reading,
// setting) is a struct with a table of [Column]s. That one table serves the
// SQL, the form field, the spreadsheet column and the history of corrections,
// so that a value is parsed and printed in one place only.
//
// The store works as the role skepwood_app, which can neither DELETE nor
// TRUNCATE.
package db
