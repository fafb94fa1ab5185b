package people

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

// The parameters are the second recommended option of RFC 9106, section 4: 3 passes
// over 64 MiB, 4 lanes, a salt of 128 and a tag of 256 bits. OWASP's Password Storage
// Cheat Sheet asks for 2 passes over 19 MiB at the least.
const (
	passes   = 3
	memoryKB = 64 << 10
	lanes    = 4
	saltLen  = 16
	tagLen   = 32
)

// The shortest and longest password in characters: NIST SP 800-63B-4, section 3.1.1,
// asks for 15 where it is all that is needed, and for at least 64 to be allowed.
const (
	MinPassword = 15
	maxPassword = 200
)

// ErrPassword says that a password may not be used.
var ErrPassword = fmt.Errorf("a password has %d to %d characters; a few words that do not belong together are good", MinPassword, maxPassword)

// HashPassword returns what is kept of a password, in the form of the PHC string
// format; ErrPassword when it is too short or too long.
func HashPassword(password string) (string, error) {
	if n := utf8.RuneCountInString(password); n < MinPassword || n > maxPassword || !utf8.ValidString(password) {
		return "", ErrPassword
	}
	salt := make([]byte, saltLen)
	_, _ = rand.Read(salt) // never fails
	tag := argon2.IDKey(normal(password), salt, passes, memoryKB, lanes, tagLen)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memoryKB, passes, lanes, encode(salt), encode(tag)), nil
}

// normal is the same for a password however a keyboard composes its letters (RFC 8265,
// section 4.2.2, asks for NFC).
func normal(password string) []byte { return norm.NFC.Bytes([]byte(password)) }

func encode(b []byte) string { return base64.RawStdEncoding.EncodeToString(b) }

// nobody is what a password is compared with where there is no account, so that the
// time that it takes does not tell.
var nobody = fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memoryKB, passes, lanes,
	encode(make([]byte, saltLen)), encode(make([]byte, tagLen)))

// IsPassword reports whether it is the password that was hashed. It takes as long for
// an empty hash, which is that of no password.
func IsPassword(password, hash string) bool {
	known := hash != ""
	if !known {
		hash = nobody
	}
	same, err := compare(password, hash)
	return err == nil && same && known
}

var errHash = errors.New("not a hash of a password")

// Bounds of what is accepted from a hash, which comes from the database: it must not
// take all memory.
const (
	mostPasses, mostMemoryKB, mostLanes = 10, 256 << 10, 16
)

func compare(password, hash string) (bool, error) {
	part := strings.Split(hash, "$")
	if len(part) != 6 || part[1] != "argon2id" || utf8.RuneCountInString(password) > maxPassword {
		return false, errHash
	}
	var version int
	var m, t, p uint32
	if _, err := fmt.Sscanf(part[2], "v=%d", &version); err != nil || version != argon2.Version {
		return false, errHash
	}
	if _, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &m, &t, &p); err != nil || t < 1 || t > mostPasses || m > mostMemoryKB || p < 1 || p > mostLanes {
		return false, errHash
	}
	salt, serr := base64.RawStdEncoding.DecodeString(part[4])
	tag, terr := base64.RawStdEncoding.DecodeString(part[5])
	if serr != nil || terr != nil || len(tag) < 16 {
		return false, errHash
	}
	got := argon2.IDKey(normal(password), salt, t, m, uint8(p), uint32(len(tag)))
	return subtle.ConstantTimeCompare(got, tag) == 1, nil
}
