package rest

import (
	"encoding/base64"
	"fmt"
	"strconv"
	"strings"
	"time"

	"secondcut/api"
)

// pageInput asks for a part of a list.
type pageInput struct {
	Cursor string `query:"cursor" maxLength:"200" doc:"The next of the page before; leave out for the first page."`
	Limit  int    `query:"limit" minimum:"1" maximum:"1000" default:"1000" doc:"The most entries to answer with."`
}

// page reads the cursor. One more entry is asked for than is answered with: it
// shows whether there is a next page.
func (in pageInput) page() (api.Page, error) {
	p := api.Page{Limit: in.Limit + 1}
	if in.Cursor == "" {
		return p, nil
	}
	text, err := base64.RawURLEncoding.DecodeString(in.Cursor)
	at, id, ok := strings.Cut(string(text), " ")
	ms, perr := strconv.ParseInt(at, 10, 64)
	if err != nil || perr != nil || !ok {
		return p, inQuery(api.Invalid("cursor", "This is no cursor that was given.", "Begin with the first page."))
	}
	p.At, p.ID = time.UnixMilli(ms).UTC(), id
	return p, nil
}

// cut returns the entries of a page and the cursor of the next one.
func cut[T any](in *pageInput, all []T, place func(T) (time.Time, string)) (items []T, next string) {
	if len(all) <= in.Limit {
		return all, ""
	}
	items = all[:in.Limit]
	at, id := place(items[in.Limit-1])
	return items, base64.RawURLEncoding.EncodeToString(fmt.Appendf(nil, "%d %s", at.UnixMilli(), id))
}
