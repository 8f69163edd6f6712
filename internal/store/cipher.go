package store

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	_ "github.com/ncruces/go-sqlite3/vfs/xts" // page encryption
	"golang.org/x/crypto/argon2"
)

// keyHeader is the key file beside an encrypted database: how the key is
// derived from the passphrase. It holds no secret, and without it the
// passphrase opens nothing: it goes with every backup.
type keyHeader struct {
	Format    string `json:"format"` // "linn.key/1"
	Cipher    string `json:"cipher"`
	Derive    string `json:"derive"`
	Passes    uint32 `json:"passes"`
	MemoryKiB uint32 `json:"memory_kib"`
	Lanes     uint8  `json:"lanes"`
	Salt      string `json:"salt"`
	Check     string `json:"check"` // tells a wrong passphrase from a damaged file
}

const (
	keyFormat = "linn.key/1"
	// AES-256 in XTS mode over 512-byte sectors (NIST SP 800-38E), a 64-byte
	// key. It hides the pages and does not authenticate them: the chains do.
	pagesXTS   = "aes-256-xts"
	keyLength  = 64
	deriveName = "argon2id"

	// RFC 9106 §4, second recommended option: 3 passes, 64 MiB, 4 lanes; a
	// salt of 16 bytes.
	passes     = 3
	memoryKiB  = 64 * 1024
	lanes      = 4
	saltLength = 16

	// Bounds of a key file: beyond them it is not ours, and would stop the
	// machine.
	maxPasses    = 100
	maxMemoryKiB = 4 << 20
)

// pageCipher is the open cipher of an encrypted database.
type pageCipher struct {
	header keyHeader
	key    []byte
}

// openCipher returns the cipher of the record whose key file is path: nil when
// it is not encrypted. A fresh record with a passphrase gets a new key file;
// cost is its memory in KiB.
func openCipher(path string, passphrase []byte, fresh bool, cost uint32) (*pageCipher, error) {
	text, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && len(passphrase) == 0:
		return nil, nil
	case errors.Is(err, fs.ErrNotExist) && !fresh:
		return nil, ErrNotEncrypted
	case errors.Is(err, fs.ErrNotExist):
		return makeCipher(path, passphrase, cost)
	case err != nil:
		return nil, fmt.Errorf("store: key file: %w", err)
	case len(passphrase) == 0:
		return nil, ErrEncrypted
	}
	var c pageCipher
	if err := json.Unmarshal(text, &c.header); err != nil {
		return nil, fmt.Errorf("store: key file: %w", err)
	}
	salt, err := c.header.valid()
	if err != nil {
		return nil, err
	}
	c.derive(passphrase, salt)
	if !hmac.Equal([]byte(c.check()), []byte(c.header.Check)) {
		return nil, ErrPassphrase
	}
	return &c, nil
}

func makeCipher(path string, passphrase []byte, cost uint32) (*pageCipher, error) {
	salt := make([]byte, saltLength)
	rand.Read(salt) // never fails
	c := &pageCipher{header: keyHeader{Format: keyFormat, Cipher: pagesXTS, Derive: deriveName,
		Passes: passes, MemoryKiB: cost, Lanes: lanes, Salt: hex.EncodeToString(salt)}}
	c.derive(passphrase, salt)
	c.header.Check = c.check()
	return c, c.writeHeader(path)
}

func (h keyHeader) valid() (salt []byte, err error) {
	salt, err = hex.DecodeString(h.Salt)
	if err != nil || len(salt) < saltLength || h.Format != keyFormat || h.Cipher != pagesXTS || h.Derive != deriveName ||
		h.Passes < 1 || h.Passes > maxPasses || h.Lanes < 1 || h.MemoryKiB > maxMemoryKiB {
		return nil, errors.New("store: the key file is damaged, or of a newer program")
	}
	return salt, nil
}

func (c *pageCipher) derive(passphrase, salt []byte) {
	c.key = argon2.IDKey(passphrase, salt, c.header.Passes, c.header.MemoryKiB, c.header.Lanes, keyLength)
}

// check is a value that only the right key gives, and that gives no key.
func (c *pageCipher) check() string {
	m := hmac.New(sha256.New, c.key)
	m.Write([]byte(keyFormat + " check"))
	return hex.EncodeToString(m.Sum(nil))
}

// writeHeader writes the key file so that it is on the disk before any page is
// encrypted under it.
func (c *pageCipher) writeHeader(path string) error {
	text, err := json.MarshalIndent(c.header, "", "\t")
	if err != nil {
		return fmt.Errorf("store: key file: %w", err)
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("store: key file: %w", err)
	}
	_, err = f.Write(append(text, '\n'))
	if err = errors.Join(err, f.Sync(), f.Close(), syncDir(filepath.Dir(path))); err != nil {
		return fmt.Errorf("store: key file: %w", err)
	}
	return nil
}

// parameters are the first parameters of a data-source name.
func (c *pageCipher) parameters() url.Values {
	if c == nil {
		return url.Values{}
	}
	return url.Values{"vfs": {"xts"}, "hexkey": {hex.EncodeToString(c.key)}}
}
