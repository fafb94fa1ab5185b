package api_test

import (
	"testing"

	"secondcut/api"
)

func TestRoles(t *testing.T) {
	for _, tt := range []struct {
		role, need api.Role
		want       bool
	}{
		{api.RoleViewer, api.RoleViewer, true},
		{api.RoleViewer, api.RoleEditor, false},
		{api.RoleEditor, api.RoleViewer, true},
		{api.RoleEditor, api.RoleOwner, false},
		{api.RoleOwner, api.RoleOwner, true},
		{"", api.RoleViewer, false},
		{"admin", api.RoleViewer, false},
	} {
		if got := tt.role.May(tt.need); got != tt.want {
			t.Errorf("%q may what %q may: %v", tt.role, tt.need, got)
		}
	}
}

func TestNames(t *testing.T) {
	for name, ok := range map[string]bool{"anna": true, "Costume house": true, "": false, " a": false, "a\nb": false, string(make([]byte, 101)): false} {
		if err := api.CheckWord("name", name); (err == nil) != ok {
			t.Errorf("%q: %v", name, err)
		}
	}
}
