package access

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"

	"linn/finding"
)

// The cost of one argon2id hash. Source: OWASP Password Storage Cheat Sheet,
// argon2id with m = 19 MiB, t = 2, p = 1, from memory; the algorithm is RFC 9106.
const (
	argonTime    = 2
	argonMemory  = 19 * 1024 // KiB
	argonThreads = 1
	saltLen      = 16
	keyLen       = 32
)

// The length of a password in characters. The lower bound is our own choice;
// the upper one only keeps a megabyte from being hashed.
const (
	MinPassword = 10
	MaxPassword = 256
)

// hashing bounds how many hashes run at once, so that a flood of sign-ins
// takes time from itself and not memory from the ward.
var hashing = make(chan struct{}, 2)

// CheckPassword says why a password cannot be taken, nil when it can. It asks
// for length and for not being the sign-in name or one character repeated;
// it asks for no mixture of signs.
func CheckPassword(password, name string) *finding.Refusal {
	p := norm.NFC.String(password)
	refuse := func(code string, v ...finding.Value) *finding.Refusal {
		return &finding.Refusal{Code: code, Field: "password", Values: v}
	}
	n := utf8.RuneCountInString(p)
	switch {
	case !utf8.ValidString(p):
		return refuse("password-not-text")
	case n < MinPassword:
		return refuse("password-short", finding.Value{Name: "least", Text: strconv.Itoa(MinPassword)})
	case n > MaxPassword:
		return refuse("password-long", finding.Value{Name: "most", Text: strconv.Itoa(MaxPassword)})
	case name != "" && strings.EqualFold(strings.TrimSpace(p), strings.TrimSpace(name)):
		return refuse("password-is-name")
	}
	first, _ := utf8.DecodeRuneInString(p)
	if strings.Trim(p, string(first)) == "" {
		return refuse("password-one-character")
	}
	return nil
}

// Hash returns the encoded argon2id hash of a password:
// $argon2id$v=19$m=…,t=…,p=…$salt$key, with base64 without padding.
func Hash(password string) (string, error) {
	salt := make([]byte, saltLen)
	if _, err := rand.Read(salt); err != nil {
		return "", fmt.Errorf("access: salt: %w", err)
	}
	c := cost{argonTime, argonMemory, argonThreads}
	key := c.key(password, salt, keyLen)
	enc := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, c.memory, c.time, c.threads, enc(salt), enc(key)), nil
}

// NewPassword checks a password against the rules and hashes it.
func NewPassword(password, name string) (string, error) {
	if r := CheckPassword(password, name); r != nil {
		return "", *r
	}
	return Hash(password)
}

// Matches reports whether password gave the encoded hash, in a time that does
// not depend on how much of it is right. An unreadable hash matches nothing.
func Matches(encoded, password string) bool {
	h, err := decode(encoded)
	if err != nil {
		h = dummy()
		h.subtleCompare(password)
		return false
	}
	return h.subtleCompare(password)
}

// MatchesNobody spends the time of a comparison for a name that has no
// account, so that the answer's delay does not tell which names exist.
func MatchesNobody(password string) { dummy().subtleCompare(password) }

type cost struct {
	time, memory uint32
	threads      uint8
}

func (c cost) key(password string, salt []byte, length uint32) []byte {
	hashing <- struct{}{}
	defer func() { <-hashing }()
	return argon2.IDKey([]byte(norm.NFC.String(password)), salt, c.time, c.memory, c.threads, length)
}

type hash struct {
	cost
	salt, key []byte
}

func (h hash) subtleCompare(password string) bool {
	if len(password) > MaxPassword*utf8.UTFMax {
		password = password[:MaxPassword*utf8.UTFMax]
	}
	return subtle.ConstantTimeCompare(h.cost.key(password, h.salt, uint32(len(h.key))), h.key) == 1
}

// dummy is the hash of no password: its key is zero, which argon2 gives for
// none that could be found.
func dummy() hash {
	return hash{cost{argonTime, argonMemory, argonThreads}, make([]byte, saltLen), make([]byte, keyLen)}
}

var errEncoded = errors.New("access: not an argon2id hash")

// decode reads an encoded hash and refuses costs beyond what this program
// ever wrote by far, so that a planted record cannot exhaust the machine.
func decode(s string) (hash, error) {
	part := strings.Split(s, "$")
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" || part[2] != "v="+strconv.Itoa(argon2.Version) {
		return hash{}, errEncoded
	}
	var h hash
	if n, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &h.memory, &h.time, &h.threads); n != 3 || err != nil {
		return hash{}, errEncoded
	}
	var errSalt, errKey error
	h.salt, errSalt = base64.RawStdEncoding.DecodeString(part[4])
	h.key, errKey = base64.RawStdEncoding.DecodeString(part[5])
	low := h.memory < 8 || h.time < 1 || h.threads < 1 || len(h.salt) < 8 || len(h.key) < 16
	high := h.memory > 1<<20 || h.time > 100 || h.threads > 64 || len(h.salt) > 64 || len(h.key) > 64
	if errSalt != nil || errKey != nil || low || high {
		return hash{}, errEncoded
	}
	return h, nil
}
