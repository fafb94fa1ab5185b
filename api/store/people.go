package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"secondcut/api"
)

var _ api.People = (*Store)(nil)

// HasAccounts reports whether there is any account.
func (s *Store) HasAccounts(ctx context.Context) (has bool, err error) {
	err = s.tx(ctx, func(tx *txn) error {
		return tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM accounts)`).Scan(&has)
	})
	return has, err
}

const accountColumns = `id, name, workspace, role, password, created_at`

func readAccount(scan scanner) (a api.Account, err error) {
	return a, scan(&a.ID, &a.Name, &a.Workspace, &a.Role, &a.Password, stamp{&a.CreatedAt})
}

// account returns the account for which a condition holds.
func account(ctx context.Context, tx *txn, where string, args ...any) (*api.Account, error) {
	a, err := one(tx.QueryRowContext(ctx, `SELECT `+accountColumns+` FROM accounts WHERE `+where, args...), "account", readAccount)
	return &a, err
}

// AddAccount keeps a new account, and its workspace where that is new.
func (s *Store) AddAccount(ctx context.Context, a api.Account) (*api.Account, error) {
	if err := errors.Join(api.CheckWord("name", a.Name), api.CheckWord("workspace", a.Workspace)); err != nil {
		return nil, err
	}
	if !a.Role.Known() {
		return nil, api.Invalid("role", fmt.Sprintf("%q is no role.", a.Role), "A role is owner, editor or viewer.")
	}
	var got *api.Account
	err := s.tx(ctx, func(tx *txn) error {
		_, err := account(ctx, tx, `name = ?`, a.Name)
		if err == nil {
			return &api.Error{Code: api.CodeThere, Message: fmt.Sprintf("There is an account %s already.", a.Name), Remedy: "Choose another name, or remove that one first."}
		}
		if api.CodeOf(err) != api.CodeNotFound {
			return err
		}
		now := millis(time.Now())
		if _, err := tx.ExecContext(ctx, `INSERT INTO workspaces (name, created_at) VALUES (?, ?) ON CONFLICT DO NOTHING`, a.Workspace, now); err != nil {
			return err
		}
		a.ID = newID()
		_, err = tx.ExecContext(ctx, `INSERT INTO accounts (id, name, workspace, role, password, created_at) VALUES (?, ?, ?, ?, ?, ?)`,
			a.ID, a.Name, a.Workspace, a.Role, a.Password, now)
		if err != nil {
			return err
		}
		got, err = account(ctx, tx, `id = ?`, a.ID)
		return err
	})
	return got, err
}

// Accounts lists all by workspace and name.
func (s *Store) Accounts(ctx context.Context) (all []api.Account, err error) {
	err = s.tx(ctx, func(tx *txn) error {
		rows, err := tx.QueryContext(ctx, `SELECT `+accountColumns+` FROM accounts ORDER BY workspace, name`)
		if err != nil {
			return err
		}
		all, err = collect(rows, readAccount)
		return err
	})
	return all, err
}

// Account returns the account of a name.
func (s *Store) Account(ctx context.Context, name string) (a *api.Account, err error) {
	err = s.tx(ctx, func(tx *txn) (err error) {
		a, err = account(ctx, tx, `name = ?`, name)
		return err
	})
	return a, err
}

// RemoveAccount ends an account with its tokens and sign-ins.
func (s *Store) RemoveAccount(ctx context.Context, name string) error {
	return s.tx(ctx, func(tx *txn) error {
		return changed(ctx, tx, "account", `DELETE FROM accounts WHERE name = ?`, name)
	})
}

// SetPassword keeps the hash of a password; who is signed in has to do so again.
func (s *Store) SetPassword(ctx context.Context, name, password string) error {
	return s.tx(ctx, func(tx *txn) error {
		if err := changed(ctx, tx, "account", `UPDATE accounts SET password = ? WHERE name = ?`, password, name); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM access WHERE until > 0 AND account_id = (SELECT id FROM accounts WHERE name = ?)`, name)
		return err
	})
}

// until writes a time, the zero time as 0.
func until(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return millis(t)
}

// Grant lets an account in with a secret.
func (s *Store) Grant(ctx context.Context, accountID, hash string, end time.Time) error {
	return s.tx(ctx, func(tx *txn) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO access (hash, account_id, until, created_at) VALUES (?, ?, ?, ?)`, hash, accountID, until(end), millis(time.Now()))
		return err
	})
}

// Granted returns the account of a secret.
func (s *Store) Granted(ctx context.Context, hash string) (a *api.Account, err error) {
	err = s.tx(ctx, func(tx *txn) (err error) {
		a, err = account(ctx, tx, `id = (SELECT account_id FROM access WHERE hash = ? AND (until = 0 OR until > ?))`, hash, millis(time.Now()))
		return err
	})
	return a, err
}

// Revoke ends one secret; one that is not known is ended already.
func (s *Store) Revoke(ctx context.Context, hash string) error {
	return s.tx(ctx, func(tx *txn) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM access WHERE hash = ?`, hash)
		return err
	})
}

// RevokeAll ends all secrets of an account.
func (s *Store) RevokeAll(ctx context.Context, name string) error {
	return s.tx(ctx, func(tx *txn) error {
		a, err := account(ctx, tx, `name = ?`, name)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM access WHERE account_id = ?`, a.ID)
		return err
	})
}

// sweepPeople deletes sign-ins and links that have had their time.
func sweepPeople(ctx context.Context, tx *txn) error {
	now := millis(time.Now())
	if _, err := tx.ExecContext(ctx, `DELETE FROM access WHERE until > 0 AND until < ?`, now); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `DELETE FROM links WHERE until < ?`, now)
	return err
}
