package store

// Disturb puts f between the store and its pictures, for tests of trouble.
func (s *Store) Disturb(f func(Blobs) Blobs) { s.blobs = f(s.blobs) }
