package secondcut_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// The compose file is held to the specification's own schema (testdata/README.md
// says where it comes from), since no container engine may be at hand.
func TestComposeFile(t *testing.T) {
	text, err := os.ReadFile("docker-compose.yml")
	if err != nil {
		t.Fatal(err)
	}
	asJSON, err := yaml.YAMLToJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(asJSON))
	if err != nil {
		t.Fatal(err)
	}
	schema := composeSchema(t)
	if err := schema.Validate(doc); err != nil {
		t.Errorf("docker-compose.yml breaks the compose specification: %v", err)
	}
	doc.(map[string]any)["services"].(map[string]any)["secondcut"].(map[string]any)["porst"] = []any{}
	if schema.Validate(doc) == nil {
		t.Error("the schema accepts a misspelt key: this test could not fail")
	}
}

func composeSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	f, err := os.Open("testdata/compose/compose-spec.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	raw, err := jsonschema.UnmarshalJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("compose-spec.json", raw); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("compose-spec.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// The service has no accounts: it must not be published beyond this machine, and
// what people saved must be on a volume.
func TestComposeStaysPrivate(t *testing.T) {
	text, err := os.ReadFile("docker-compose.yml")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Services map[string]struct {
			Ports   []string
			Volumes []string
		}
		Volumes map[string]any
	}
	if err := yaml.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	for name, s := range file.Services {
		if len(s.Ports) == 0 {
			t.Errorf("%s publishes no port", name)
		}
		for _, p := range s.Ports {
			if !strings.HasPrefix(p, "127.0.0.1:") {
				t.Errorf("%s publishes %q beyond 127.0.0.1", name, p)
			}
		}
	}
	if len(file.Volumes) != 1 {
		t.Errorf("%d volumes, want one", len(file.Volumes))
	}
}
