package rest_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/people"
	"secondcut/api/rest"
	"secondcut/geometry/lay"
)

// access says who may do an operation where there are accounts, and how it is asked for.
type access struct {
	role   api.Role // the least that may
	link   bool     // whether a link to the garment may
	body   string
	header map[string]string
	query  string
	stream bool // it does not end by itself
	late   int  // when in a walk through all operations: what takes away comes after what needs it
	public bool // who is not signed in may as well
	unfit  bool // who may is told that the records of this test are not fit for it (422)
}

var (
	anyVersion = map[string]string{"If-Match": "*"}
	jpegType   = map[string]string{"Content-Type": "image/jpeg"}
	bytesType  = map[string]string{"Content-Type": "application/octet-stream"}
	tarType    = map[string]string{"Content-Type": "application/x-tar"}
)

const (
	viewer = api.RoleViewer
	editor = api.RoleEditor
	owner  = api.RoleOwner
	square = `{"name":"Saved","knots":[{"at":[0,0],"corner":true},{"at":[90,0],"corner":true},{"at":[90,90],"corner":true}]}`
)

// accessRules must name every operation of the document: a new one without a rule fails
// the test. In a body, FILE, PHOTO and ARCHIVE stand for those.
var accessRules = map[string]access{
	"list-garments":           {role: viewer},
	"create-garment":          {role: editor, body: `{"name":"New"}`},
	"get-garment":             {role: viewer, link: true},
	"edit-garment":            {role: editor, body: `{"name":"Renamed"}`, header: anyVersion, late: 1},
	"delete-garment":          {role: editor, late: 9},
	"garment-events":          {role: viewer, link: true, stream: true},
	"garment-picture":         {role: viewer, link: true},
	"export-garment":          {role: viewer, link: true, query: "?format=svg"},
	"add-export":              {role: viewer, link: true, body: `{"format":"svg"}`},
	"get-job-file":            {role: viewer, link: true},
	"list-garment-versions":   {role: viewer},
	"restore-garment-version": {role: editor, header: anyVersion},
	"remake-garment":          {role: editor, body: `{"name":"Again"}`},
	"add-photo":               {role: editor, body: "PHOTO", header: jpegType},
	"get-photo":               {role: viewer},
	"edit-photo":              {role: editor, body: `{"face":"wrong"}`, late: 1},
	"delete-photo":            {role: editor, late: 8},
	"trace-photo":             {role: editor, body: `{"strokes":[]}`},
	"get-photo-image":         {role: viewer},
	"get-photo-plane":         {role: viewer},
	"begin-upload":            {role: editor, body: `{"size":100}`},
	"get-upload":              {role: viewer},
	"send-part":               {role: editor, body: "PHOTO", header: bytesType, query: "?offset=0"},
	"finish-upload":           {role: editor, late: 1},
	"drop-upload":             {role: editor, late: 2},
	"get-piece":               {role: viewer, link: true},
	"save-piece":              {role: editor, body: square, header: anyVersion},
	"smooth-piece":            {role: editor, body: `{"smooth":0.5}`},
	"delete-piece":            {role: editor, late: 7},
	"export-piece":            {role: viewer, link: true, query: "?format=svg"},
	"draft-piece":             {role: viewer, link: true},
	"draft-edit":              {role: viewer, body: square},
	"amend-piece":             {role: editor, body: `{"op":{"kind":"mirror"}}`},
	"rederive-piece":          {role: editor, unfit: true},
	"derive-piece":            {role: editor, unfit: true, body: `{"recipe":{"kind":"interfacing","from":[{"piece":"none"}]}}`},
	"try-size":                {role: editor, unfit: true, body: `{"wants":[{"measure":"none","body_mm":900}]}`},
	"list-piece-versions":     {role: viewer},
	"restore-piece-version":   {role: editor, header: anyVersion, late: 1},
	"get-job":                 {role: viewer, link: true},
	"cancel-job":              {role: editor},
	"job-events":              {role: viewer, link: true},
	"list-trash":              {role: viewer},
	"restore-trash":           {role: editor},
	"delete-trash":            {role: owner, late: 10},
	"empty-trash":             {role: owner, late: 11},
	"get-garment-file":        {role: viewer, link: true},
	"import-garment-file":     {role: editor, body: "FILE"},
	"draft-garment":           {role: viewer, link: true},
	"check-garment":           {role: viewer, link: true},
	"reconcile-garment":       {role: viewer, body: `{}`},
	"accept-reconciled":       {role: editor, body: `{"accept":[]}`, header: anyVersion},
	"compare-twins":           {role: viewer, unfit: true, body: `{"a":"none","b":"none"}`},
	"borrow-edge":             {role: editor, unfit: true, body: `{"a":"none","b":"none","piece":"none","edge":"none"}`, header: anyVersion},
	"get-making":              {role: viewer, link: true},
	"export-making":           {role: viewer, link: true},
	"get-lay":                 {role: viewer},
	"check-lay":               {role: viewer, body: `{"pieces":[]}`},
	"lay-garment":             {role: editor, body: `{"seconds":0.1}`},
	"lay-widths":              {role: editor, body: `{"seconds":0.1,"widths_mm":[1400]}`},
	"export-lay":              {role: viewer, query: "?format=svg", late: -1},
	"add-swatch":              {role: editor, body: "PHOTO", header: jpegType},
	"get-swatch":              {role: viewer, link: true},
	"list-presets":            {role: viewer, link: true},
	"garment-schema":          {role: viewer, link: true},
	"card-sheet":              {role: viewer, link: true},
	"get-lan":                 {role: viewer, link: true},
	"export-all":              {role: owner},
	"import-all":              {role: owner, body: "ARCHIVE", header: tarType},
	"list-links":              {role: viewer},
	"add-link":                {role: editor, body: `{"days":7}`},
	"revoke-link":             {role: editor},
	"get-session":             {role: viewer, link: true, public: true},
	"sign-in":                 {role: viewer, link: true, public: true, body: `{"name":"east viewer","secret":"PASSWORD"}`},
	"sign-out":                {role: viewer, link: true, public: true, late: 20},
}

// house is a service with accounts, and one workspace's records in it.
type houseRig struct {
	*rig
	tokens map[string]string
}

const password = "wick lantern copper tide"

func newHouse(t *testing.T) *houseRig {
	t.Helper()
	r := newRig(t)
	r.opt.Room.Burst, r.opt.Room.PerSecond = 100_000, 100_000
	r.opt.Token = bearer
	h := &houseRig{r, map[string]string{}}
	hash, err := people.HashPassword(password)
	r.must(err)
	for _, w := range []string{"east", "west"} {
		for _, role := range []api.Role{owner, editor, viewer} {
			name := w + " " + string(role)
			a, err := r.store.AddAccount(t.Context(), api.Account{Name: name, Workspace: w, Role: role, Password: hash})
			r.must(err)
			h.tokens[name] = people.NewSecret()
			r.must(r.store.Grant(t.Context(), a.ID, people.Digest(h.tokens[name]), time.Time{}))
		}
	}
	r.server.Config.Handler = rest.New(r.opt)
	return h
}

func (h *houseRig) as(name string) map[string]string {
	return header("Authorization", "Bearer "+h.tokens[name])
}

func both(a, b map[string]string) map[string]string {
	out := map[string]string{}
	for _, m := range []map[string]string{a, b} {
		for k, v := range m {
			out[k] = v
		}
	}
	return out
}

// stock is a garment of the east with one of everything, by the name of its path.
type stock struct {
	ids         map[string]string
	link, other string // secrets of links to it and to another garment
	linkID      string
	swatch      string
	version     string // a former one of the garment
	file        string
}

func (h *houseRig) stock() stock {
	h.Helper()
	as := h.as("east editor")
	post := func(status int, url, body string, more map[string]string) []byte {
		h.Helper()
		return h.want(status, "POST", "/api/v1"+url, body, both(as, more))
	}
	s := stock{ids: map[string]string{}}
	g := mustJSON[api.Garment](h.rig, post(201, "/garments", `{"name":"Smock"}`, nil))
	s.ids["garments"] = g.ID
	base := "/garments/" + g.ID
	up := mustJSON[struct {
		Photo api.Photo `json:"photo"`
		JobID string    `json:"job_id"`
	}](h.rig, post(202, base+"/photos?name=Front.jpg", string(photoBytes(400, 300)), jpegType))
	s.ids["photos"] = up.Photo.ID
	h.want(200, "GET", "/api/v1/jobs/"+up.JobID+"/events", "", as) // until it is traced
	s.ids["pieces"] = mustJSON[api.Garment](h.rig, h.want(200, "GET", "/api/v1"+base, "", as)).Pieces[0].ID
	h.want(200, "PUT", "/api/v1/pieces/"+s.ids["pieces"], square, both(as, anyVersion))
	_, events := h.do("POST", "/api/v1"+base+"/lay", strings.NewReader(`{"seconds":0.1}`), as)
	plans := readEvents(h.rig, bytes.NewReader(events), 0)
	laid, err := json.Marshal(map[string]any{"lays": []api.Lay{{Pieces: mustJSON[lay.Plan](h.rig, []byte(plans[len(plans)-1].data)).Pieces}}})
	h.must(err)
	h.want(200, "PATCH", "/api/v1"+base, string(laid), both(as, anyVersion))
	former := mustJSON[listOf[api.Version]](h.rig, h.want(200, "GET", "/api/v1"+base+"/versions", "", as)).Items
	s.version = fmt.Sprint(former[len(former)-1].Version)
	s.ids["jobs"] = mustJSON[api.Job](h.rig, post(202, base+"/exports", `{"format":"svg"}`, nil)).ID
	h.want(200, "GET", "/api/v1/jobs/"+s.ids["jobs"]+"/events", "", as)
	photo := photoBytes(300, 200)
	s.ids["uploads"] = mustJSON[api.Upload](h.rig, post(201, base+"/uploads", fmt.Sprintf(`{"size":%d}`, len(photo)), nil)).ID
	s.swatch = mustJSON[struct{ Name string }](h.rig, post(201, base+"/swatches", string(photoBytes(60, 40)), jpegType)).Name
	s.file = string(h.want(200, "GET", "/api/v1"+base+"/file", "", as))
	for _, name := range []string{"trash", "to be restored"} {
		spare := mustJSON[api.Garment](h.rig, post(201, "/garments/file", s.file, nil))
		res, _ := h.do("DELETE", "/api/v1/garments/"+spare.ID, nil, as)
		s.ids[name] = strings.TrimPrefix(res.Header.Get("Location"), "/api/v1/trash/")
	}
	made := mustJSON[linkMade](h.rig, post(201, base+"/links", `{"days":7}`, nil))
	s.link, s.linkID = strings.TrimPrefix(made.Path, "/share/"), made.ID
	beside := mustJSON[api.Garment](h.rig, post(201, "/garments", `{"name":"Beside"}`, nil))
	s.other = strings.TrimPrefix(mustJSON[linkMade](h.rig, post(201, "/garments/"+beside.ID+"/links", `{"days":7}`, nil)).Path, "/share/")
	return s
}

type linkMade struct{ ID, Path string }

// linkHeader opens a link as a browser does and returns the cookie that it gets.
func (h *houseRig) linkHeader(secret string) map[string]string {
	h.Helper()
	res, _ := h.do("GET", "/share/"+secret, nil, nil)
	if res.StatusCode != http.StatusSeeOther || len(res.Cookies()) != 1 {
		h.Fatalf("link: status %d", res.StatusCode)
	}
	return header("Cookie", res.Cookies()[0].Name+"="+res.Cookies()[0].Value)
}

// operation is one of the document, and its rule.
type operation struct {
	id, method, path string
	access
}

func (h *houseRig) operations() []operation {
	h.Helper()
	seen := map[string]bool{}
	var all []operation
	for path, methods := range documentAs(h.rig, header("Authorization", "Bearer "+bearer)).Paths.Map() {
		for method, o := range methods.Operations() {
			rule, ok := accessRules[o.OperationID]
			if !ok {
				h.Errorf("%s %s (%s) has no rule: say in accessRules who may do it", method, path, o.OperationID)
			}
			seen[o.OperationID] = true
			all = append(all, operation{o.OperationID, method, path, rule})
		}
	}
	for id := range accessRules {
		if !seen[id] {
			h.Errorf("the rule for %s is about no operation", id)
		}
	}
	slices.SortFunc(all, func(a, b operation) int { return cmp.Or(cmp.Compare(a.late, b.late), cmp.Compare(a.id, b.id)) })
	return all
}

// ask does an operation on the stock.
func (h *houseRig) ask(o operation, s stock, who map[string]string) (int, string) {
	h.Helper()
	kind, version := strings.Split(o.path, "/")[1], "1"
	switch o.id {
	case "restore-trash":
		kind = "to be restored"
	case "restore-garment-version":
		version = s.version
	}
	url := "/api/v1" + strings.NewReplacer("{id}", s.ids[kind], "{n}", version, "{name}", s.swatch, "{link}", s.linkID).Replace(o.path) + o.query
	body := strings.NewReplacer("PHOTO", string(photoBytes(300, 200)), "FILE", s.file, "PASSWORD", password).Replace(o.body)
	if o.body == "ARCHIVE" {
		body = string(h.want(200, "GET", "/api/v1/archive", "", h.as("west owner")))
	}
	var in io.Reader
	if body != "" {
		in = strings.NewReader(body)
	}
	if !o.stream {
		res, data := h.do(o.method, url, in, both(o.header, who))
		return res.StatusCode, string(data)
	}
	req, err := http.NewRequestWithContext(h.Context(), o.method, h.server.URL+url, in)
	h.must(err)
	for name, value := range who {
		req.Header.Set(name, value)
	}
	res, err := http.DefaultClient.Do(req)
	h.must(err)
	defer res.Body.Close()
	first := make([]byte, 200)
	n, _ := res.Body.Read(first)
	return res.StatusCode, string(first[:n])
}

// Every operation of the document, really asked for with the ids of another workspace
// and by everybody of one's own, answers as its rule says.
func TestIsolation(t *testing.T) {
	h := newHouse(t)
	all := h.operations()
	if t.Failed() {
		return
	}
	good := func(status int) bool { return status < 300 }
	only := func(want int) func(int) bool { return func(status int) bool { return status == want } }
	byRole := func(role api.Role) func(operation) func(int) bool {
		return func(o operation) func(int) bool {
			if role.May(o.role) {
				if o.unfit {
					return only(422)
				}
				return good
			}
			return only(403)
		}
	}
	stranger := func(o operation) func(int) bool {
		if o.public {
			return good
		}
		return only(401)
	}
	expired := people.NewSecret()
	for _, column := range []struct {
		who  string
		head func(s stock) map[string]string
		want func(o operation) func(int) bool
	}{
		{"nobody", func(stock) map[string]string { return nil }, stranger},
		{"guessed token", func(stock) map[string]string { return header("Authorization", "Bearer guess") }, stranger},
		{"another workspace", func(stock) map[string]string { return h.as("west owner") }, func(o operation) func(int) bool {
			if strings.Contains(o.path, "{id}") {
				return only(404)
			}
			return good
		}},
		{"viewer", func(stock) map[string]string { return h.as("east viewer") }, byRole(viewer)},
		{"editor", func(stock) map[string]string { return h.as("east editor") }, byRole(editor)},
		{"owner", func(stock) map[string]string { return h.as("east owner") }, byRole(owner)},
		{"link", func(s stock) map[string]string { return h.linkHeader(s.link) }, func(o operation) func(int) bool {
			if o.link {
				return good
			}
			return only(403)
		}},
		{"link to another garment", func(s stock) map[string]string { return h.linkHeader(s.other) }, func(o operation) func(int) bool {
			switch {
			case !o.link:
				return only(403)
			case strings.Contains(o.path, "{id}"):
				return only(404)
			}
			return good
		}},
		{"expired link", func(s stock) map[string]string {
			_, err := h.store.AddLink(t.Context(), s.ids["garments"], people.Digest(expired), time.Now().Add(-time.Second))
			h.must(err)
			return header("Cookie", "secondcut_link="+expired)
		}, stranger},
		{"revoked link", func(s stock) map[string]string {
			head := h.linkHeader(s.link)
			h.must(h.store.RevokeLink(t.Context(), s.ids["garments"], s.linkID))
			return head
		}, stranger},
	} {
		t.Run(column.who, func(t *testing.T) {
			h.T = t
			s := h.stock()
			head := column.head(s)
			private := slices.Concat([]string{s.swatch, "Front.jpg"}, values(s.ids))
			for _, o := range all {
				status, body := h.ask(o, s, head)
				if !column.want(o)(status) {
					t.Errorf("%s (%s %s): status %d: %.300s", o.id, o.method, o.path, status, body)
				}
				if column.who != "another workspace" {
					continue
				}
				for _, word := range private {
					if strings.Contains(body, word) {
						t.Errorf("%s shows %q to another workspace: %.300s", o.id, word, body)
					}
				}
			}
		})
	}
	h.T = t
}

func values(m map[string]string) (all []string) {
	for _, v := range m {
		all = append(all, v)
	}
	return all
}

// What a link shows of a garment holds nothing of its photos.
func TestLinkShowsNoPhotos(t *testing.T) {
	h := newHouse(t)
	s := h.stock()
	g := string(h.want(200, "GET", "/api/v1/garments/"+s.ids["garments"], "", h.linkHeader(s.link)))
	if strings.Contains(g, "Front.jpg") || !strings.Contains(g, `"photos":[]`) || !strings.Contains(g, s.ids["pieces"]) {
		t.Errorf("garment by a link: %s", g)
	}
	if b := string(h.want(200, "GET", "/api/v1/session", "", h.linkHeader(s.link))); strings.Contains(b, "east") || !strings.Contains(b, s.ids["garments"]) {
		t.Errorf("session by a link: %s", b)
	}
}

// The ways in, and what is served besides operations.
func TestWaysIn(t *testing.T) {
	h := newHouse(t)
	s := h.stock()
	h.want(200, "GET", "/", "", nil) // the page, to sign in on
	h.want(200, "GET", "/built/main-ABCDEFGH.js", "", nil)
	h.want(200, "GET", "/healthz", "", nil)
	h.want(403, "GET", "/metrics", "", h.as("east owner"))
	h.want(401, "GET", "/metrics", "", nil)
	h.want(200, "GET", "/metrics", "", header("Authorization", "Bearer "+bearer))
	h.want(401, "GET", "/api/v1/docs", "", nil)
	h.want(401, "GET", "/api/v1/openapi.json", "", nil)
	h.want(410, "GET", "/share/guess", "", nil)
	h.want(410, "GET", "/pair/"+bearer, "", nil) // devices are paired where there are no accounts
	h.want(409, "GET", "/share/"+s.link, "", h.as("west viewer"))
	h.want(303, "GET", "/share/"+s.link, "", h.as("east viewer"))
	h.want(401, "POST", "/api/v1/session", `{"name":"east viewer","secret":"guess"}`, nil)
	h.want(401, "POST", "/api/v1/session", `{"name":"nobody","secret":"guess"}`, nil)
	h.want(401, "POST", "/api/v1/session", `{"name":"west viewer","secret":"`+h.tokens["east viewer"]+`"}`, nil)
	res, _ := h.do("POST", "/api/v1/session", strings.NewReader(`{"name":"","secret":"`+h.tokens["east viewer"]+`"}`), nil)
	var cookie *http.Cookie
	for _, c := range res.Cookies() {
		if c.Name == "secondcut_session" {
			cookie = c
		}
	}
	if cookie == nil || !cookie.HttpOnly || cookie.SameSite != http.SameSiteLaxMode || cookie.Secure {
		t.Fatalf("signing in: status %d, cookie %+v", res.StatusCode, cookie)
	}
	in := header("Cookie", "secondcut_session="+cookie.Value)
	h.want(200, "GET", "/api/v1/garments", "", in)
	h.want(204, "DELETE", "/api/v1/session", "", in)
	h.want(401, "GET", "/api/v1/garments", "", in)
	// Whose account ends is let in no more.
	h.must(h.store.RemoveAccount(t.Context(), "east viewer"))
	h.want(401, "GET", "/api/v1/garments", "", h.as("east viewer"))
}

// Behind a proxy with TLS cookies are for TLS only, and the service goes by its name.
func TestPublicAddress(t *testing.T) {
	h := newHouse(t)
	var err error
	h.opt.Public, err = url.Parse("https://patterns.example")
	h.must(err)
	h.server.Config.Handler = rest.New(h.opt)
	host := header("Host", "patterns.example")
	res, _ := h.do("POST", "/api/v1/session", strings.NewReader(`{"name":"","secret":"`+h.tokens["east viewer"]+`"}`), host)
	if res.StatusCode != 200 || !res.Cookies()[0].Secure {
		t.Errorf("signing in: status %d, cookies %v", res.StatusCode, res.Cookies())
	}
	h.want(421, "GET", "/healthz", "", header("Host", "elsewhere.example"))
}

// A stream ends when its asker is let in no more.
func TestStreamEndsWithItsLink(t *testing.T) {
	h := newHouse(t)
	s := h.stock()
	req, err := http.NewRequestWithContext(t.Context(), "GET", h.server.URL+"/api/v1/garments/"+s.ids["garments"]+"/events", nil)
	h.must(err)
	req.Header.Set("Cookie", h.linkHeader(s.link)["Cookie"])
	res, err := http.DefaultClient.Do(req)
	h.must(err)
	defer res.Body.Close()
	if got := readEvents(h.rig, res.Body, 1); got[0].name != "changed" {
		t.Fatalf("first event: %+v", got)
	}
	h.want(204, "DELETE", "/api/v1/garments/"+s.ids["garments"]+"/links/"+s.linkID, "", h.as("east editor"))
	h.want(200, "PATCH", "/api/v1/garments/"+s.ids["garments"], `{"name":"Secret"}`, both(h.as("east editor"), anyVersion))
	rest, err := io.ReadAll(res.Body)
	if err != nil || bytes.Contains(rest, []byte("changed")) {
		t.Errorf("after its end: %q, %v", rest, err)
	}
}

// An archive is of one workspace, and reaches no other where it is taken in.
func TestArchivesOfWorkspaces(t *testing.T) {
	h := newHouse(t)
	s := h.stock()
	west := h.want(200, "GET", "/api/v1/archive", "", h.as("west owner"))
	for _, id := range values(s.ids) {
		if bytes.Contains(west, []byte(id)) {
			t.Errorf("the archive of the west names %s of the east", id)
		}
	}
	east := h.want(200, "GET", "/api/v1/archive", "", h.as("east owner"))
	if !bytes.Contains(east, []byte(s.ids["garments"])) || bytes.Contains(east, []byte("argon2id")) {
		t.Error("the archive of the east has not all of its own, or knows passwords")
	}
	// Keys of requests are each workspace's own.
	key := header("Idempotency-Key", "one")
	a := mustJSON[api.Garment](h.rig, h.want(201, "POST", "/api/v1/garments", `{"name":"Same"}`, both(key, h.as("east editor"))))
	b := mustJSON[api.Garment](h.rig, h.want(201, "POST", "/api/v1/garments", `{"name":"Same"}`, both(key, h.as("west editor"))))
	if a.ID == b.ID {
		t.Error("one key gave both workspaces the same garment")
	}
}

// A workspace keeps to its limits, and what one takes leaves the room of another.
func TestLimitsOfWorkspaces(t *testing.T) {
	h := newHouse(t)
	add := func(want int, who, garment string) {
		t.Helper()
		h.want(want, "POST", "/api/v1/garments/"+garment+"/photos", string(photoBytes(300, 200)), both(jpegType, h.as(who)))
	}
	garment := func(who string) string {
		return mustJSON[api.Garment](h.rig, h.want(201, "POST", "/api/v1/garments", `{"name":"Smock"}`, h.as(who))).ID
	}
	east, west := garment("east editor"), garment("west editor")
	h.must(h.store.SetLimits(t.Context(), "east", api.WorkspaceLimits{Bytes: int64(len(photoBytes(300, 200))) * 3 / 2}))
	add(202, "east editor", east)
	add(507, "east editor", east)
	add(202, "west editor", west)
	// In the trash it still takes room.
	h.want(204, "DELETE", "/api/v1/garments/"+east, "", h.as("east editor"))
	east = garment("east editor")
	add(507, "east editor", east)
	h.want(204, "DELETE", "/api/v1/trash", "", h.as("east owner"))
	add(202, "east editor", east)
}
