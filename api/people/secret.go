package people

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
)

// NewSecret returns a secret that nobody can guess: 256 bits at random.
func NewSecret() string { return rand.Text() + rand.Text() }

// Digest is what is kept of a secret. It needs no salt and may be fast: such secrets
// cannot be tried out, unlike passwords.
func Digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}
