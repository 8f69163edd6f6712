// Package store keeps the record of internal/care/casebook on a disk: SQLite in
// the ward's folder by default, PostgreSQL for a hospital.
//
// One suite of tests holds every store to the same behaviour (SQLite on two
// drivers, PostgreSQL, and the memory store of casebook). The SQL is the same
// for all of them and written by hand; only the migrations differ.
//
// SQLite runs in WAL mode with synchronous=FULL: when Do returns, the revision
// is on the disk as far as the disk honours fsync. There is one connection that
// writes and several that read. Triggers abort any UPDATE or DELETE of a
// revision. One program at a time opens a folder for writing; it holds the lock
// file. Never put the folder on a network share.
package store
