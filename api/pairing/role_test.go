package pairing

import (
	"testing"

	"evenwhite/logbook"
)

func TestRole(t *testing.T) {
	order := []Role{Guest, Reader, Editor, Owner}
	for i, role := range order {
		for j, least := range order {
			if got, want := role.Includes(least), i >= j; got != want {
				t.Errorf("%s includes %s: got %t, want %t", role, least, got, want)
			}
		}
		if role.Includes("") || role.Includes("boss") || Role("").Includes(role) || Role("boss").Includes(role) {
			t.Errorf("%s and a word that is no role include one another", role)
		}
	}
}

func TestCaller(t *testing.T) {
	here, there := drawID(), drawID()
	c := Caller{Grants: Grants{Everywhere: Reader, here.String(): Editor, there.String(): Guest}}
	for _, row := range []struct {
		where string
		id    logbook.ID
		want  Role
	}{
		{"in a production with a greater role", here, Editor},
		{"in a production with a smaller role than everywhere", there, Reader},
		{"in a production that is not named", drawID(), Reader},
		{"on the server", logbook.ID{}, Reader},
	} {
		if got := c.RoleIn(row.id); got != row.want {
			t.Errorf("%s: got %s, want %s", row.where, got, row.want)
		}
	}
	wantErr(t, Caller{}.May(Guest, here), ErrRole)
}
