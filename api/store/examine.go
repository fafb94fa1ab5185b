package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// Ailment is something wrong with a data folder.
type Ailment struct {
	// What says it in one sentence, Remedy what to do.
	What, Remedy string
}

// jsonColumns are the columns that hold JSON, where they are not empty.
var jsonColumns = map[string][]string{
	"garments": {"pattern"},
	"photos":   {"refusal", "plane", "trace", "print", "known_things"},
	"pieces":   {"knots", "holes", "unsure", "grain", "strokes", "pattern"},
	"jobs":     {"strokes", "step", "refusal", "trace", "export"},
	"trash":    {"rows", "pictures"},
}

// Examine looks for damage in a data folder, of which a service may be at work. It
// changes nothing.
func Examine(ctx context.Context, dir string) (found []Ailment, err error) {
	db, err := sql.Open("sqlite", "file:"+escape(filepath.Join(dir, "secondcut.db"))+"?mode=ro&_pragma=busy_timeout(5000)")
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	defer db.Close()
	snapshot, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, explain(fmt.Errorf("store: %w", err))
	}
	defer snapshot.Rollback()
	tx := &txn{snapshot, &sqliteDialect}
	for _, look := range []func(context.Context, *txn) ([]Ailment, error){examineDatabase, examineRows} {
		more, err := look(ctx, tx)
		if err != nil {
			return nil, explain(fmt.Errorf("store: %w", err))
		}
		found = append(found, more...)
	}
	used, err := keysIn(ctx, tx, usedKeys(tx.in))
	if err != nil {
		return nil, explain(fmt.Errorf("store: %w", err))
	}
	more, err := examinePictures(ctx, filepath.Join(dir, "pictures"), used)
	return append(found, more...), err
}

func examineDatabase(ctx context.Context, tx *txn) (found []Ailment, err error) {
	for _, pragma := range []string{"integrity_check", "foreign_key_check"} {
		rows, err := dump(ctx, tx, `SELECT * FROM pragma_`+pragma)
		if err != nil {
			return nil, err
		}
		for _, r := range rows {
			if said := fmt.Sprint(r[pragma]); said != "ok" {
				found = append(found, Ailment{fmt.Sprintf("The database is damaged (%s).", strings.TrimSpace(fmt.Sprint(r))), "Bring it back from a backup: secondcut restore into a new folder."})
			}
		}
	}
	return found, nil
}

func examineRows(ctx context.Context, tx *txn) (found []Ailment, err error) {
	for _, t := range archived {
		for _, column := range jsonColumns[t.table] {
			rows, err := tx.QueryContext(ctx, `SELECT id, CAST(`+column+` AS TEXT) FROM `+t.table+` WHERE `+column+` <> ''`)
			if err != nil {
				return nil, err
			}
			bad, err := collect(rows, func(scan scanner) (string, error) {
				var id, text string
				if err := scan(&id, &text); err != nil || json.Valid([]byte(text)) {
					return "", err
				}
				return id, nil
			})
			if err != nil {
				return nil, err
			}
			for _, id := range bad {
				if id != "" {
					found = append(found, Ailment{fmt.Sprintf("%s of %s %s cannot be read.", column, t.table, id), "Delete it in the page, or bring it back from a backup."})
				}
			}
		}
	}
	return found, nil
}

func examinePictures(ctx context.Context, dir string, used map[string]bool) (found []Ailment, err error) {
	b, err := openBlobs(dir)
	if err != nil {
		return []Ailment{{fmt.Sprintf("The folder of the pictures is not there: %v.", err), "See whether its disk is mounted."}}, nil
	}
	var keys []string
	for key := range used {
		if key != "" {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	for _, key := range keys {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		_, err := b.get(ctx, key)
		switch {
		case errors.Is(err, errLost):
			found = append(found, Ailment{fmt.Sprintf("Picture %s is missing or damaged.", key), "Bring it back from a backup, or delete its photo and upload it again."})
		case err != nil:
			found = append(found, Ailment{fmt.Sprintf("Picture %s cannot be read: %v.", key, err), "See whether the folder belongs to the user who runs Secondcut."})
		}
	}
	stray, bytes := 0, int64(0)
	err = b.each(ctx, func(name string, size int64) error {
		if !used[path.Base(name)] {
			stray, bytes = stray+1, bytes+size
		}
		return nil
	})
	if err == nil && stray > 0 {
		found = append(found, Ailment{fmt.Sprintf("%d files (%d MB) belong to no photo.", stray, bytes>>20), "Nothing: the service removes them at its next start, or within the hour."})
	}
	return found, err
}
