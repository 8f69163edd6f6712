package backup

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

	"filippo.io/age"
)

// Key is a recovery key: Public encrypts backups, Secret opens them.
type Key struct{ Public, Secret string }

// NewKey makes a recovery key.
func NewKey() (Key, error) {
	k, err := age.GenerateX25519Identity()
	if err != nil {
		return Key{}, fmt.Errorf("backup: new key: %w", err)
	}
	return Key{Public: k.Recipient().String(), Secret: k.String()}, nil
}

// Errors of keys.
var (
	ErrNoRecipient = errors.New("nobody could open the backup: no recovery key is set")
	ErrRecipient   = errors.New("this is not the public half of a recovery key; it begins with age1")
	ErrSecretGiven = errors.New("this is the secret half of a recovery key; the public half, which begins with age1, belongs here")
	ErrSecret      = errors.New("this is not a recovery key, or a sign of it is wrong; it begins with AGE-SECRET-KEY-1")
	ErrWrongKey    = errors.New("this recovery key does not open the backup")
)

// recipients reads public keys.
func recipients(list []string) (out []age.Recipient, err error) {
	for _, text := range list {
		switch r, err := age.ParseX25519Recipient(text); {
		case strings.HasPrefix(strings.ToUpper(text), secretBegins):
			return nil, ErrSecretGiven
		case err != nil:
			return nil, ErrRecipient
		default:
			out = append(out, r)
		}
	}
	if len(out) == 0 {
		return nil, ErrNoRecipient
	}
	return out, nil
}

// ParseRecipients reads public keys parted by commas or white space.
func ParseRecipients(text string) ([]string, error) {
	list := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || unicode.IsSpace(r) })
	_, err := recipients(list)
	return list, err
}

const secretBegins = "AGE-SECRET-KEY-"

// identity reads a secret key as people type it from the printed page: in
// groups, in small letters. Its check signs find a slip of the pen.
func identity(secret string) (*age.X25519Identity, error) {
	s := strings.ToUpper(strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, secret))
	if !strings.HasPrefix(s, secretBegins) {
		s = secretBegins + s
	}
	k, err := age.ParseX25519Identity(s)
	if err != nil {
		return nil, ErrSecret // the parser's words could repeat the key
	}
	return k, nil
}
