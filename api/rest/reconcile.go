package rest

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/reconcile"
	"secondcut/geometry/twin"
)

func (s *service) reconcileRoutes(h huma.API) {
	route(s, h, op("POST", "/garments/{id}/reconcile", "reconcile-garment", "What twins and seams would correct, edge by edge; nothing is saved", 200, 400, 404, 422), s.reconcileGarment)
	route(s, h, op("POST", "/garments/{id}/reconcile/accept", "accept-reconciled", "Move the edges that were accepted; each piece gets a new version", 200, 400, 404, 412, 422, 428), s.acceptReconciled)
	route(s, h, op("POST", "/garments/{id}/twins", "compare-twins", "How two pieces that are mirror images differ, or the halves of one; nothing is saved", 200, 400, 404, 422), s.compareTwins)
	route(s, h, op("POST", "/garments/{id}/twins/borrow", "borrow-edge", "Take an edge of a piece from its twin, as a new version", 200, 400, 404, 412, 422, 428), s.borrowEdge)
}

// whatToReconcile says what is compared. Pieces are named by their ids.
type whatToReconcile struct {
	Twins  *[]twin.Pair        `json:"twins,omitempty" nullable:"false" maxItems:"200" doc:"The pairs of mirror images; twice the same piece for its halves. Left out, those that are found by their shape."`
	Accept []reconcile.EdgeRef `json:"accept,omitempty" nullable:"false" maxItems:"5000" doc:"The edges that are to move. In a question: what the seams are then; left out, all."`
}

type reconcileInput struct {
	ID   string `path:"id" maxLength:"64"`
	Body whatToReconcile
}

// reconciled is what would move, and the outlines to look at.
type reconciled struct {
	reconcile.Result
	Outlines []reconcile.Outline `json:"outlines" nullable:"false" doc:"Before and after all moves, in the piece frames; the points belong together one by one."`
}

type reconcileAnswer struct {
	ETag string `header:"ETag" doc:"Of the pieces and the garment that were compared: what accepting starts from."`
	Body reconciled
}

func (s *service) reconcileGarment(ctx context.Context, in *reconcileInput) (*reconcileAnswer, error) {
	c, err := s.compared(ctx, in.ID, in.Body.Twins)
	if err != nil {
		return nil, err
	}
	if in.Body.Accept != nil {
		c.result.Seams = c.result.SeamsWith(in.Body.Accept)
	}
	return &reconcileAnswer{c.tag, reconciled{c.result, c.result.Outlines()}}, nil
}

type acceptInput struct {
	ID      string `path:"id" maxLength:"64"`
	IfMatch string `header:"If-Match" maxLength:"100" doc:"The ETag of the answer that is accepted; required."`
	Body    whatToReconcile
}

type acceptedAnswer struct {
	Body struct {
		Pieces []*api.Piece `json:"pieces" nullable:"false" doc:"Those that changed."`
	}
}

func (s *service) acceptReconciled(ctx context.Context, in *acceptInput) (*acceptedAnswer, error) {
	version, err := versionOf(in.IfMatch)
	if err != nil {
		return nil, err
	}
	c, err := s.compared(ctx, in.ID, in.Body.Twins)
	if err != nil {
		return nil, err
	}
	if version != api.AnyVersion && strings.TrimSpace(in.IfMatch) != c.tag {
		return nil, api.Stale(nil)
	}
	after := c.result.Accept(in.Body.Accept)
	out := &acceptedAnswer{}
	out.Body.Pieces = []*api.Piece{}
	for _, p := range c.pieces {
		i := slices.IndexFunc(in.Body.Accept, func(e reconcile.EdgeRef) bool { return e.Piece == p.ID })
		now, ok := after.Piece(p.ID)
		if i < 0 || !ok {
			continue
		}
		saved, err := s.Store.SavePiece(ctx, p.ID, outlineEdit(p, now), p.Version)
		if err != nil {
			return nil, err
		}
		out.Body.Pieces = append(out.Body.Pieces, saved)
	}
	return out, nil
}

// outlineEdit is the edit that gives a piece another outline, which is in the piece
// frame and whose edges and marks are those that it has.
func outlineEdit(p *api.Piece, now pattern.Piece) api.PieceEdit {
	back := p.PlaneToPiece.Inverse()
	e := api.PieceEdit{Name: p.Name, Knots: now.Knots.Map(back.Apply), Holes: p.Holes, Strokes: p.Strokes, Edges: now.Edges, Unsure: []geometry.Stretch{}}
	for _, u := range now.Unsure {
		u.From, u.To = back.Apply(u.From), back.Apply(u.To)
		e.Unsure = append(e.Unsure, u)
	}
	return e
}

// comparison is a garment that was reconciled.
type comparison struct {
	pieces []*api.Piece
	result reconcile.Result
	tag    string
}

// compared reconciles a garment as it is. Pieces that cannot be drawn are left out, which
// the findings say.
func (s *service) compared(ctx context.Context, id string, twins *[]twin.Pair) (comparison, error) {
	g, all, err := s.piecesOf(ctx, id)
	if err != nil {
		return comparison{}, err
	}
	sound, lost := pattern.Sound(api.Compose(g, all))
	release, err := s.layTurnFor(ctx)
	if err != nil {
		return comparison{}, err
	}
	defer release()
	var pairs []twin.Pair
	switch {
	case twins != nil:
		pairs = *twins
	case len(sound.Pieces) <= reconcile.MaxPieces:
		pairs = twin.Propose(sound)
	}
	r, err := reconcile.Solve(sound, pairs)
	if err != nil {
		return comparison{}, reconcileError(err)
	}
	r.Findings = append(append([]geometry.Finding{}, lost...), r.Findings...) // a list, also where it is empty
	return comparison{all, r, versionsTag(g, all)}, nil
}

// versionsTag is the entity tag of a garment and its pieces together.
func versionsTag(g *api.Garment, all []*api.Piece) string {
	h := fnv.New64a()
	fmt.Fprintln(h, g.ID, g.Version)
	for _, p := range all {
		fmt.Fprintln(h, p.ID, p.Version)
	}
	return ETag(int64(h.Sum64() >> 1))
}

// reconcileError says in the person's words why nothing could be compared.
func reconcileError(err error) error {
	switch {
	case errors.Is(err, reconcile.ErrTooMany):
		return api.Invalid("", fmt.Sprintf("The garment has more than %d pieces.", reconcile.MaxPieces), "Split it into garments that are sewn by themselves.")
	case errors.Is(err, reconcile.ErrTwin):
		return api.Invalid("twins", "A pair of twins names a piece that is not there, or one that has another twin.", "Name each piece once.")
	case errors.Is(err, twin.ErrNoPiece):
		return api.Invalid("piece", "The garment has no such piece or edge.", "Choose one of its pieces, and one of its edges.")
	case errors.Is(err, twin.ErrNoCounterpart):
		return api.Invalid("edge", "The twin has no edge where this one runs, or one of quite another length.", "Split the outline into edges at the same corners on both, or draw the edge by hand.")
	}
	return fileError(err)
}

type twinsAnswer struct{ Body twin.Twin }

func (s *service) compareTwins(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Body twin.Pair
},
) (*twinsAnswer, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	sound, _ := pattern.Sound(api.Compose(g, all))
	t, err := twin.Compare(sound, in.Body)
	if err != nil {
		return nil, reconcileError(err)
	}
	return &twinsAnswer{t}, nil
}

// borrowed says which edge is taken from its twin.
type borrowed struct {
	A     string `json:"a" doc:"The pair of twins: A, and B."`
	B     string `json:"b"`
	Piece string `json:"piece" doc:"The one of them whose edge is worn through."`
	Edge  string `json:"edge"`
}

func (s *service) borrowEdge(ctx context.Context, in *struct {
	ID      string `path:"id" maxLength:"64"`
	IfMatch string `header:"If-Match" maxLength:"100" doc:"The ETag of the piece that changes; required."`
	Body    borrowed
},
) (*pieceAnswer, error) {
	version, err := versionOf(in.IfMatch)
	if err != nil {
		return nil, err
	}
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(all, func(p *api.Piece) bool { return p.ID == in.Body.Piece })
	if i < 0 {
		return nil, reconcileError(twin.ErrNoPiece)
	}
	sound, _ := pattern.Sound(api.Compose(g, all))
	t, err := twin.Compare(sound, twin.Pair{A: in.Body.A, B: in.Body.B})
	if err != nil {
		return nil, reconcileError(err)
	}
	now, err := twin.Borrow(sound, t, in.Body.Piece, in.Body.Edge)
	if err != nil {
		return nil, reconcileError(err)
	}
	return answerPiece(s.Store.SavePiece(ctx, in.Body.Piece, outlineEdit(all[i], now), version))
}
