package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"secondcut/api"
	"secondcut/api/people"
	"secondcut/api/store"
)

// house makes a data folder with two accounts, and returns their tokens by role.
func houseFolder(t *testing.T) (dir string, tokens map[api.Role]string) {
	t.Helper()
	dir, tokens = t.TempDir(), map[api.Role]string{}
	st, err := store.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, role := range []api.Role{api.RoleEditor, api.RoleViewer} {
		a, err := st.AddAccount(t.Context(), api.Account{Name: "wick " + string(role), Workspace: "Lamplighters", Role: role})
		if err != nil {
			t.Fatal(err)
		}
		tokens[role] = people.NewSecret()
		if err := st.Grant(t.Context(), a.ID, people.Digest(tokens[role]), time.Time{}); err != nil {
			t.Fatal(err)
		}
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	return dir, tokens
}

// TestPeople signs in, makes a link, looks by it without an account, ends it, and looks
// as somebody who may not change anything.
func TestPeople(t *testing.T) {
	t.Parallel()
	code := axeCode(t)
	dir, tokens := houseFolder(t)
	url := startServiceIn(t, dir)
	file, err := os.ReadFile("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url+"/api/v1/garments/file", bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+tokens[api.RoleEditor])
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var g api.Garment
	if err := json.NewDecoder(res.Body).Decode(&g); err != nil || res.StatusCode != http.StatusCreated {
		t.Fatalf("status %d: %v", res.StatusCode, err)
	}
	p := newTab(t, startBrowser(t), 390, 844, true)
	look := func(what string) {
		t.Helper()
		p.frames()
		if wide := eval[float64](p, "document.documentElement.scrollWidth - innerWidth"); wide > 0 {
			t.Errorf("%s is %.0f px wider than the screen", what, wide)
		}
		if code == "" {
			return
		}
		for _, s := range p.axe(code) {
			t.Errorf("%s: %s", what, s)
		}
	}
	signIn := func(name, secret string) {
		t.Helper()
		p.do(chromedp.Navigate(url + "/#/garment/" + g.ID))
		p.until("to be asked who one is", `document.querySelector("#my-secret")`)
		p.fill("Name", name)
		p.fill("Password or token", secret)
		eval[bool](p, `(document.querySelector(".signin").requestSubmit(), true)`)
	}
	signIn("wick editor", tokens[api.RoleEditor])
	p.until("the garment to change", `document.querySelector("h1 input.name")`)
	p.until("who one is", `document.querySelector("header").innerText.includes("wick editor, in Lamplighters")`)
	p.press("Links for others to look")
	look("links")
	p.press("Make a link")
	p.until("the link", `document.querySelector("#new-link")?.value.includes("/share/")`)
	link := eval[string](p, `document.querySelector("#new-link").value`)
	look("a new link")
	p.press("Sign out")
	p.until("to be asked who one is", `document.querySelector("#my-secret")`)
	look("signing in")

	p.do(chromedp.Navigate(link))
	p.until("the pieces by the link", `document.querySelectorAll(".pieces li").length === `+string(rune('0'+len(g.Pieces))))
	if strings.Contains(eval[string](p, "location.href"), "/share/") {
		t.Error("the link's secret stays in the address")
	}
	if n := eval[int](p, `document.querySelectorAll("input, a[href^='#/piece']").length`); n != 0 {
		t.Errorf("%d things to change or edit by a link", n)
	}
	look("a garment by a link")
	p.press("Put the link away")
	p.until("to be asked who one is", `document.querySelector("#my-secret")`)
	signIn("", tokens[api.RoleEditor])
	p.press("Links for others to look")
	p.press("End it now")
	p.until("no link left", `document.querySelector(".shares").innerText.includes("No link leads here.")`)
	p.press("Sign out")
	p.until("to be asked who one is", `document.querySelector("#my-secret")`)
	p.expect("410")
	p.do(chromedp.Navigate(link))
	p.until("the end of the link", `document.body.innerText.includes("This link has ended")`)

	signIn("wick viewer", tokens[api.RoleViewer])
	p.until("the garment to look at", `document.querySelectorAll(".pieces li").length > 0 && document.body.innerText.includes("but not change it")`)
	look("a garment for a viewer")
	p.do(chromedp.Navigate(url + "/#/"))
	p.until("the list without a new garment", `document.querySelector(".garment-card") && !document.querySelector("#new-name")`)
	look("the list for a viewer")
	cookies, err := chromedp.Call(p.ctx, network.GetCookies, network.GetCookiesParams{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cookies.Cookies {
		if !c.HTTPOnly || c.SameSite != network.CookieSameSiteLax {
			t.Errorf("cookie %s: %+v", c.Name, c)
		}
	}
}
