package people_test

import (
	"strings"
	"testing"

	"secondcut/api/people"
)

func TestPassword(t *testing.T) {
	const word = "wick lantern copper tide"
	hash, err := people.HashPassword(word)
	if err != nil {
		t.Fatal(err)
	}
	// The parameters of RFC 9106, section 4, second option.
	if !strings.HasPrefix(hash, "$argon2id$v=19$m=65536,t=3,p=4$") {
		t.Errorf("hash %s", hash)
	}
	again, err := people.HashPassword(word)
	if err != nil || again == hash {
		t.Errorf("hashed twice: %s, %v", again, err)
	}
	for _, tt := range []struct {
		name, word, hash string
		want             bool
	}{
		{"right", word, hash, true},
		{"wrong", word + "s", hash, false},
		{"empty", "", hash, false},
		{"no password kept", "", "", false},
		{"no password kept, guessed", word, "", false},
		// A test vector of the reference implementation (phc-winner-argon2, test.c).
		{"reference", "password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc", true},
		{"reference, wrong", "passwore", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc", false},
		{"other method", "password", "$argon2i$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$wWKIMhR9lyDFvRz9YTZweHKfbftvj+qf+YFY4NeBbtA", false},
		{"greedy", "password", "$argon2id$v=19$m=4294967295,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc", false},
		{"no tag", "password", "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$", false},
		{"noise", "password", "password", false},
	} {
		if got := people.IsPassword(tt.word, tt.hash); got != tt.want {
			t.Errorf("%s: %v", tt.name, got)
		}
	}
	for _, bad := range []string{"", "short", strings.Repeat("x", 14), strings.Repeat("x", 201), "\xff" + word} {
		if _, err := people.HashPassword(bad); err == nil {
			t.Errorf("%q may be a password", bad)
		}
	}
}

// However a keyboard composes a letter, it is the same password.
func TestPasswordComposed(t *testing.T) {
	hash, err := people.HashPassword("Schl\u00fcssel am Haken")
	if err != nil || !people.IsPassword("Schlu\u0308ssel am Haken", hash) {
		t.Errorf("composed otherwise: %v", err)
	}
}

func TestSecret(t *testing.T) {
	a, b := people.NewSecret(), people.NewSecret()
	if a == b || len(a) < 52 {
		t.Errorf("secrets %q, %q", a, b)
	}
	// SHA-256 of "abc": FIPS 180-4, the example of NIST.
	if got := people.Digest("abc"); got != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" {
		t.Errorf("digest %s", got)
	}
}
