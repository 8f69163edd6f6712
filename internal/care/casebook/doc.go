// Package casebook is the record: patients and their eye cases, the people of
// the ward, its lens models and its local protocol, each as a chain of
// write-once revisions, and the Store they are kept in.
//
// Nothing is updated or deleted. Every payload is a full snapshot of the state
// after the verb, with the verb and its reason, so the difference between two
// revisions is a comparison ([Diff]). A revision carries the hash of the one
// before it; the ward chain lists every chain's head, so that a removed newest
// revision shows ([Verify]). Order is by revision number, never by the clock.
//
// Text that identifies a patient is sealed under a key of that patient alone.
// The hash covers the ciphertext: destroying the key erases the person and the
// chain still verifies.
//
// The package has no clock, no chance and no disk. Instants come in a [Stamp],
// randomness as an io.Reader, and disks belong to internal/store.
package casebook
