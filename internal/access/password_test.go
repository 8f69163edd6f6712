package access

import (
	"strings"
	"testing"
)

func TestPasswordRules(t *testing.T) {
	for _, c := range []struct{ name, password, code string }{
		{"nine characters", "nine char", "password-short"},
		{"ten", "ten chars!", ""},
		{"ten of a script with long code points", "पानीपानीपानी", ""},
		{"only small letters is enough when long", "four small words here", ""},
		{"too long", strings.Repeat("ab", 129), "password-long"},
		{"longest", strings.Repeat("ab", 128), ""},
		{"the sign-in name itself", "Meera.Tamang", "password-is-name"},
		{"one character", "aaaaaaaaaaaa", "password-one-character"},
		{"not text", "\xff\xfe\xff\xfe\xff\xfe\xff\xfe\xff\xfe", "password-not-text"},
		{"empty", "", "password-short"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ""
			if r := CheckPassword(c.password, "meera.tamang"); r != nil {
				got = r.Code
			}
			if got != c.code {
				t.Errorf("CheckPassword = %q, want %q", got, c.code)
			}
		})
	}
}

func TestHashMatchesOnlyItsPassword(t *testing.T) {
	h, err := NewPassword("correct horse water", "x")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(h, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Errorf("cost not written as asked: %s", h)
	}
	if !Matches(h, "correct horse water") {
		t.Error("own password refused")
	}
	for _, wrong := range []string{"", "correct horse wate", "correct horse water ", "Correct horse water"} {
		if Matches(h, wrong) {
			t.Errorf("took %q", wrong)
		}
	}
	again, err := Hash("correct horse water")
	if err != nil || again == h {
		t.Error("two hashes of one password are the same: no salt")
	}
}

func TestPasswordTypedOnAnotherKeyboard(t *testing.T) {
	h, err := Hash("caf\u00e9 au lait") // é as one code point
	if err != nil || !Matches(h, "cafe\u0301 au lait") {
		t.Error("the same text in decomposed form was refused")
	}
}

// Source: the Argon2 reference implementation, src/test.c, argon2id v=19,
// t=2, m=2^16 KiB, p=1, "password", "somesalt"; from memory.
func TestReferenceVector(t *testing.T) {
	const want = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	if !Matches(want, "password") {
		t.Error("the reference program's hash does not match its password")
	}
}

func TestUnreadableHashMatchesNothing(t *testing.T) {
	good, err := Hash("correct horse water")
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"", "correct horse water", strings.Replace(good, "argon2id", "argon2i", 1),
		strings.Replace(good, "v=19", "v=16", 1), strings.Replace(good, "m=19456", "m=99999999", 1),
		strings.Replace(good, "t=2", "t=0", 1), strings.Replace(good, "p=1", "p=0", 1), good + "$", good[:len(good)-30]} {
		if Matches(bad, "correct horse water") {
			t.Errorf("matched %q", bad)
		}
	}
}

// A hash of nothing that ends in an empty key would compare equal to anything
// cut to the same length.
func TestEmptyKeyIsRefused(t *testing.T) {
	if Matches("$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$", "x") {
		t.Error("an empty key matched")
	}
}

func FuzzDecode(f *testing.F) {
	f.Add("$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc")
	f.Fuzz(func(t *testing.T, s string) {
		h, err := decode(s)
		if err == nil && (len(h.key) < 16 || h.threads == 0 || h.memory > 1<<20) {
			t.Errorf("took %q", s)
		}
	})
}

func BenchmarkHash(b *testing.B) {
	for b.Loop() {
		if _, err := Hash("correct horse water"); err != nil {
			b.Fatal(err)
		}
	}
}
