package store

import (
	"context"
	"os"
)

// Syncing puts f in the place of what syncs pictures and their folders, for tests of
// trouble.
func (s *Store) Syncing(f func(*os.File) error) { s.blobs.sync = f }

// KeepBlob keeps bytes that no row names, as a crash leaves them.
func (s *Store) KeepBlob(data []byte) error {
	_, err := s.blobs.put(context.Background(), keyOf(data), data)
	return err
}
