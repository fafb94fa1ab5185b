package rest

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"

	"secondcut/api"
	"secondcut/api/people"
)

const (
	sharePath  = "/share/:token"
	linkCookie = "secondcut_link"
)

type linkList struct {
	Body struct {
		Items []api.Link `json:"items" nullable:"false"`
	}
}

type linkAnswer struct {
	Body struct {
		api.Link
		Path string `json:"path" doc:"Where the link leads, below the service's address; shown this once."`
	}
}

func (s *service) linkRoutes(h huma.API) {
	route(s, h, op("GET", "/garments/{id}/links", "list-links", "List the links by which anybody may see a garment", 200, 404), s.listLinks)
	route(s, h, op("POST", "/garments/{id}/links", "add-link", "Make a link by which anybody may see a garment and print it, without its photos", 201, 400, 404, 409, 422), s.addLink)
	route(s, h, op("DELETE", "/garments/{id}/links/{link}", "revoke-link", "End a link", 204, 404), s.revokeLink)
}

// sharable answers an error for a garment that the asker does not reach.
func (s *service) sharable(ctx context.Context, garmentID string) error {
	if s.People == nil {
		return api.NotFound("link")
	}
	_, err := s.Store.Owner(ctx, api.RecordGarment, garmentID)
	return err
}

func (s *service) listLinks(ctx context.Context, in *byID) (*linkList, error) {
	if err := s.sharable(ctx, in.ID); err != nil {
		return nil, err
	}
	out := &linkList{}
	var err error
	out.Body.Items, err = s.People.Links(ctx, in.ID)
	return out, err
}

func (s *service) addLink(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Body struct {
		Days int `json:"days" minimum:"1" maximum:"365" doc:"How long the link is good."`
	}
},
) (*linkAnswer, error) {
	if err := s.sharable(ctx, in.ID); err != nil {
		return nil, err
	}
	secret := people.NewSecret()
	l, err := s.People.AddLink(ctx, in.ID, people.Digest(secret), time.Now().Add(time.Duration(in.Body.Days)*24*time.Hour))
	if err != nil {
		return nil, err
	}
	out := &linkAnswer{}
	out.Body.Link, out.Body.Path = *l, "/share/"+secret
	return out, nil
}

func (s *service) revokeLink(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Link string `path:"link" maxLength:"64"`
},
) (*none, error) {
	if err := s.sharable(ctx, in.ID); err != nil {
		return nil, err
	}
	return &none{}, s.People.RevokeLink(ctx, in.ID, in.Link)
}

// openLink lets a browser see the garment of a link. Who is signed in stays who he is:
// a link that he is made to open must not take his own garments from him.
func (s *service) openLink(c *gin.Context) {
	secret := c.Param("token")
	var l *api.Link
	err := error(api.NotFound("link"))
	if s.People != nil {
		l, err = s.People.Linked(c.Request.Context(), people.Digest(secret))
	}
	if err != nil && api.CodeOf(err) != api.CodeNotFound {
		s.refuse(c, err)
		return
	}
	html := strings.Contains(c.GetHeader("Accept"), "text/html")
	who := callerOf(c.Request.Context())
	switch {
	case err != nil && html:
		c.Data(http.StatusGone, "text/html; charset=utf-8", []byte(endedPage))
		return
	case err != nil:
		s.refuse(c, &api.Error{Code: api.CodeLinkUsed, Message: "This link has ended, or is not known.", Remedy: "Ask whoever gave it to you for a new one."})
		return
	case who == nil || who.role == "":
		s.setCookie(c, linkCookie, secret, 0, http.SameSiteLaxMode) // until the browser is closed
	case who.scope.Workspace != l.Workspace:
		c.Data(http.StatusConflict, "text/html; charset=utf-8", []byte(signedInPage))
		return
	}
	c.Redirect(http.StatusSeeOther, "/#/garment/"+l.GarmentID)
}

// The pages that one meets whom a link does not let in; they need no script.
const (
	endedPage = `<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>Secondcut</title>
<h1>This link has ended</h1><p>Ask whoever gave it to you for a new one.</p></html>`
	signedInPage = `<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>Secondcut</title>
<h1>This link is of another workspace</h1><p>You are signed in to your own. Sign out first, or open the link in a private window.</p></html>`
)
