package rest

import (
	"cmp"
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"reflect"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"secondcut/api"
	"secondcut/api/fence"
	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/vision"
)

// Options say what the service is made of. Store and Queue are required.
type Options struct {
	Store api.OwnedStore
	Queue api.Queue
	// People keeps accounts and links; without it there are none of either.
	People api.People
	// Public is the address under which the service is reached through a proxy with TLS,
	// such as https://patterns.example; nil where there is none.
	Public *url.URL
	// Files gives the files of the page by name; none are served when nil. What lies
	// below built never changes under its name, and NAME.gz is NAME in gzip.
	Files func() (map[string][]byte, error)
	// Darkroom works on pictures that were just received; default in this process.
	Darkroom Darkroom
	// Limits bound uploaded photos; see vision.Limits for the defaults.
	Limits vision.Limits
	// Pairing lets phones in; nil when the service is for this machine alone.
	Pairing *Pairing
	// Hosts are the addresses besides loopback under which the service may be
	// asked.
	Hosts []netip.Addr
	// TrustPeers says that whoever can reach the service may use it, because
	// something in front of it sees to that (a container's published port).
	TrustPeers bool
	// Token, where set, lets a peer in that sends it as a bearer token or opens the
	// link /pair/ with it.
	Token string
	// Rooms bound what the service takes on.
	Room Room
	// Build names the program as it was built: what another one has drawn is drawn again.
	Build string
	// Done ends all event streams when it is closed; nil is never.
	Done <-chan struct{}
	// Logger takes one line a request; default slog.Default().
	Logger *slog.Logger
}

// service is what the handlers share.
type service struct {
	Options
	log     *slog.Logger
	room    Darkroom
	cross   *http.CrossOriginProtection
	sending chan struct{} // bounds how many uploads are held in memory
	reading chan struct{} // bounds how many of them are looked into
	laying  chan struct{} // bounds how many layouts are looked for
	openAPI *huma.OpenAPI
	// everything and working are what the metrics tell of, past all workspaces.
	everything api.Store
	working    any
	// people says whether there are accounts: once there are, everybody signs in.
	people   atomic.Bool
	tries    rates
	hashing  chan struct{} // bounds how many passwords are compared
	previews *keyedLock
	gzips    sync.Pool // of *gzip.Writer
	rates    rates
	metrics  *metrics
}

// Base is the path under which the JSON interface lies.
const Base = "/api/v1"

// Bounds on memory: senders is how many photos are received at a time, readers
// how many are decoded, to look into one that is no JPEG or to make a preview. The
// others wait.
const (
	senders = 6
	readers = 2
)

// New returns the handler for all of the service.
func New(opt Options) http.Handler { return newService(opt).engine() }

func newService(opt Options) *service {
	s := &service{
		Options:  opt,
		room:     cmp.Or[Darkroom](opt.Darkroom, inProcess{}),
		log:      cmp.Or(opt.Logger, slog.Default()),
		cross:    http.NewCrossOriginProtection(),
		sending:  make(chan struct{}, senders),
		reading:  make(chan struct{}, readers),
		laying:   make(chan struct{}, layers()),
		previews: newKeyedLock(),
		rates:    newRates(opt.Room),
		tries:    newRates(Room{PerSecond: 1, Burst: signInTries}),
		hashing:  make(chan struct{}, hashers),
	}
	s.everything, s.working = opt.Store, opt.Queue
	s.Store, s.Queue = fence.Around(opt.Store, opt.Queue)
	s.metrics = newMetrics(s)
	return s
}

func init() { gin.SetMode(gin.ReleaseMode) } // else gin prints its routes

func (s *service) engine() *gin.Engine {
	e := gin.New()
	e.HandleMethodNotAllowed = true
	e.RedirectTrailingSlash = false
	e.Use(s.identify, s.observe, s.compress, s.recover, s.secure, s.guardHost, s.guardRate, s.guardOrigin, s.guardPeer, s.guardLength)
	e.NoRoute(s.serveFile)
	e.NoMethod(func(c *gin.Context) {
		c.Header("Content-Type", "application/problem+json")
		c.AbortWithStatusJSON(http.StatusMethodNotAllowed,
			newProblem(http.StatusMethodNotAllowed, string(api.CodeBadRequest), "This cannot be done here.", internalRemedy))
	})
	e.GET("/healthz", func(c *gin.Context) { c.String(http.StatusOK, "ok\n") })
	e.GET("/readyz", s.ready)
	e.GET("/metrics", s.guardOwn, gin.WrapH(s.metrics.handler()))
	e.GET(pairPath, s.pair)
	e.GET(sharePath, s.openLink)
	h := humagin.NewWithGroup(e, e.Group(Base), config())
	s.openAPI = h.OpenAPI()
	s.garmentRoutes(h)
	s.photoRoutes(h)
	s.swatchRoutes(h)
	s.pieceRoutes(h)
	s.patternRoutes(h)
	s.reconcileRoutes(h)
	s.libraryRoutes(h)
	s.layRoutes(h)
	s.jobRoutes(h)
	s.sheetRoutes(h)
	s.exportRoutes(h)
	s.lanRoutes(h)
	s.sessionRoutes(h)
	s.linkRoutes(h)
	s.historyRoutes(h)
	s.trashRoutes(h)
	s.uploadRoutes(h)
	s.archiveRoutes(h)
	s.docsRoutes(e)
	return e
}

func config() huma.Config {
	c := huma.DefaultConfig("Secondcut", "1")
	c.Info.Description = "Photos of pressed garment pieces become clean outlines at true scale. " +
		"Lengths are millimetres in the plane frame of a photo, x right, y up."
	c.Servers = []*huma.Server{{URL: Base}}
	c.DocsPath, c.SchemasPath = "", ""
	c.CreateHooks = nil // no $schema links in the answers
	c.Formats = map[string]huma.Format{"application/json": huma.DefaultJSONFormat, "json": huma.DefaultJSONFormat}
	c.Components.Schemas = huma.NewMapRegistry("#/components/schemas/", schemaName)
	c.Components.Schemas.RegisterTypeAlias(reflect.TypeFor[geometry.Point](), reflect.TypeFor[[2]float64]())
	return c
}

// schemaName names a type in the document: a garment's cloth and one that is laid on are
// both called so in their packages.
func schemaName(t reflect.Type, hint string) string {
	if t == reflect.TypeFor[lay.Cloth]() {
		return "LayCloth"
	}
	return huma.DefaultSchemaNamer(t, hint)
}

const (
	jsonLimit   = 4 << 20          // the largest JSON body in bytes: 5000 knots and as many strokes
	jsonTimeout = 30 * time.Second // for receiving it
)

// route registers a handler whose errors become problems, and which reads no
// larger a body, and for no longer, than the operation allows.
func route[I, O any](s *service, h huma.API, op huma.Operation, f func(context.Context, *I) (*O, error)) {
	op.MaxBodyBytes = cmp.Or(op.MaxBodyBytes, jsonLimit)
	op.BodyReadTimeout = cmp.Or(op.BodyReadTimeout, jsonTimeout)
	op.Errors = sortedStatuses(append(op.Errors, guarded...))
	op.Middlewares = append(huma.Middlewares{s.allow(op)}, op.Middlewares...)
	huma.Register(h, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := f(ctx, in)
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return out, nil
	})
}

// guarded are the problems that any operation may answer with before it is reached, or
// by the service's own fault: no session, another page's request, another name, too many
// requests.
var guarded = []int{
	http.StatusUnauthorized, http.StatusForbidden, http.StatusMisdirectedRequest, http.StatusTooManyRequests,
	http.StatusInternalServerError,
}

func sortedStatuses(list []int) []int {
	slices.Sort(list)
	return slices.Compact(list)
}

// op describes an operation; errs are the statuses of its problems.
func op(method, path, id, summary string, status int, errs ...int) huma.Operation {
	return huma.Operation{Method: method, Path: path, OperationID: id, Summary: summary, DefaultStatus: status, Errors: errs}
}

// byID is the input of operations on one record.
type byID struct {
	ID string `path:"id" maxLength:"64"`
}

// none is the output of operations that answer with no content.
type none struct{}
