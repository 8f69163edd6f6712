// Package backup keeps copies of a whole ward away from its machine: encrypted
// so that a lost stick tells nobody anything, and checked so that a copy that
// could not be restored is known before it is needed.
//
// A backup is two files in one folder:
//
//   - linn-TIME.age: the ward (package wardfile), compressed with gzip, and
//     encrypted with the age format, version 1, to one X25519 recipient a
//     holder of a recovery key. The program that writes backups holds no key
//     that opens them.
//   - linn-TIME.json: the manifest, linn.backup/1, in plain: when and by which
//     program, size and SHA-256 of the encrypted file, how much is in it, and
//     the digest of the record. It names nobody.
//
// The encrypted file is written under another name, brought to the disk, read
// back and compared, and only then named; the manifest comes last. What was
// cut off is therefore never mistaken for a backup.
//
// The digest rolls over the whole record, so a later record can be held
// against it (Against): a revision removed since, the newest too, shows.
package backup
