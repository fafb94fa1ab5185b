package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"

	"secondcut/api"
	"secondcut/api/rest"
	"secondcut/geometry/pattern"
)

// manifest names the photos of a demo folder; it lies there as demo.json.
type manifest struct {
	Garment string `json:"garment"`
	Photos  []struct {
		File string `json:"file"`
		Name string `json:"name"`
		Face string `json:"face"`
	} `json:"photos"`
	// Patterns are garment files, relative to the folder, and what their garments
	// are called.
	Patterns []struct {
		File string `json:"file"`
		Name string `json:"name"`
	} `json:"patterns,omitempty"`
}

// loadDemo uploads the photos of a folder as the page would, and brings its garment
// files in, if the service that answers at base holds no garment yet.
func loadDemo(ctx context.Context, base, dir string) error {
	m, err := readManifest(dir)
	if err != nil {
		return err
	}
	var list struct {
		Items []api.GarmentSummary `json:"items"`
	}
	if err := call(ctx, http.MethodGet, base+"/garments", nil, nil, &list); err != nil || len(list.Items) > 0 {
		return err
	}
	for _, p := range m.Patterns {
		if err := importPattern(ctx, base, filepath.Join(dir, filepath.FromSlash(p.File)), p.Name); err != nil {
			return fmt.Errorf("--demo: %w", err)
		}
	}
	name, err := json.Marshal(map[string]string{"name": m.Garment})
	if err != nil {
		return err
	}
	var g api.Garment
	if err := call(ctx, http.MethodPost, base+"/garments", jsonType, name, &g); err != nil {
		return err
	}
	if err := markExample(ctx, base, g); err != nil {
		return err
	}
	for _, p := range m.Photos {
		data, err := os.ReadFile(filepath.Join(dir, filepath.Base(p.File)))
		if err != nil {
			return fmt.Errorf("--demo: %w", err)
		}
		query := url.Values{"name": {p.Name}, "face": {p.Face}}.Encode()
		if err := call(ctx, http.MethodPost, base+"/garments/"+g.ID+"/photos?"+query, http.Header{"Content-Type": {"application/octet-stream"}}, data, nil); err != nil {
			return fmt.Errorf("--demo: %s: %w", p.File, err)
		}
	}
	return nil
}

// importPattern brings a garment file in under a name.
func importPattern(ctx context.Context, base, file, name string) error {
	g, err := readGarment(file)
	if err != nil {
		return err
	}
	g.Name = cmp.Or(name, g.Name)
	var b bytes.Buffer
	if err := pattern.Write(&b, g); err != nil {
		return err
	}
	var made api.Garment
	if err := call(ctx, http.MethodPost, base+"/garments/file", jsonType, b.Bytes(), &made); err != nil {
		return err
	}
	return markExample(ctx, base, made)
}

var jsonType = http.Header{"Content-Type": {"application/json"}}

// markExample puts a tag on a garment, so that nobody takes it for one of theirs.
func markExample(ctx context.Context, base string, g api.Garment) error {
	header := jsonType.Clone()
	header.Set("If-Match", fmt.Sprintf(`"v%d"`, g.Version))
	return call(ctx, http.MethodPatch, base+"/garments/"+g.ID, header, []byte(`{"tags":["example"]}`), nil)
}

func readManifest(dir string) (m manifest, err error) {
	data, err := os.ReadFile(filepath.Join(dir, "demo.json"))
	if err != nil {
		return m, fmt.Errorf("--demo: %w", err)
	}
	if err := json.Unmarshal(data, &m); err != nil {
		return m, fmt.Errorf("--demo: %s cannot be read: %w", filepath.Join(dir, "demo.json"), err)
	}
	if m.Garment == "" || len(m.Photos) == 0 {
		return m, fmt.Errorf("--demo: %s names no garment or no photos", filepath.Join(dir, "demo.json"))
	}
	return m, nil
}

// call sends one request to our own service and reads the answer into out.
func call(ctx context.Context, method, url string, header http.Header, body []byte, out any) error {
	req, err := http.NewRequestWithContext(ctx, method, url, bytes.NewReader(body))
	if err != nil {
		return err
	}
	if header != nil {
		req.Header = header
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode >= 400 {
		var p rest.Problem
		if json.Unmarshal(data, &p) == nil && p.Detail != "" {
			return errors.New(p.Detail + " " + p.Remedy)
		}
		return errors.New(res.Status)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(data, out)
}
