package bolt

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func put(t interface{ Fatal(...any) }, folder string, names ...string) {
	for _, name := range names {
		if err := os.WriteFile(filepath.Join(folder, name), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func names(t interface{ Fatal(...any) }, folder string) (all []string) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

func TestRotateKeepsAllThenDaysThenMonths(t *testing.T) {
	folder := t.TempDir()
	now := time.Date(2031, 3, 31, 12, 0, 0, 0, time.UTC)
	stay := []string{
		"evenwhite-2031-04-02T000000Z.backup", // by a clock that was set back since
		"evenwhite-2031-03-05.backup",         // a person's own names
		"evenwhite-2031-03-05T100000Z.backup.old",
		"evenwhite.db",
		"notes.txt",
	}
	var gone []string
	const every = 2 * time.Hour
	for age := time.Duration(0); age <= 120*24*time.Hour; age += every {
		at := now.Add(-age)
		next := at.Add(every)
		keep := age <= 48*time.Hour || age <= 30*24*time.Hour && at.Day() != next.Day() || at.Month() != next.Month()
		if name := BackupName(at); keep {
			stay = append(stay, name)
		} else {
			gone = append(gone, name)
		}
	}
	put(t, folder, append(slices.Clone(stay), gone...)...)
	if err := os.Mkdir(filepath.Join(folder, "evenwhite-2030-11-01T120000Z.backup"), 0o700); err != nil {
		t.Fatal(err)
	}
	stay = append(stay, "evenwhite-2030-11-01T120000Z.backup")
	removed, err := Rotate(folder, now)
	slices.Sort(removed)
	slices.Sort(gone)
	if err != nil || !slices.Equal(removed, gone) {
		t.Errorf("removed are %q (%v), want %q", removed, err, gone)
	}
	slices.Sort(stay)
	if got := names(t, folder); !slices.Equal(got, stay) {
		t.Errorf("left are %q, want %q", got, stay)
	}
}

// A clock that jumps ahead makes no backup old: what was made of the last two days is
// still there, and later what is thinned is thinned by days.
func TestRotateTrustsNoClockThatJumped(t *testing.T) {
	for _, years := range []int{1, 90} {
		folder := t.TempDir()
		last := time.Date(2031, 3, 31, 12, 0, 0, 0, time.UTC)
		var made []string
		for hours := range 100 {
			made = append(made, BackupName(last.Add(-time.Duration(hours)*time.Hour)))
		}
		put(t, folder, made...)
		at := last.AddDate(years, 0, 0)
		for hours := range 24 {
			now := at.Add(time.Duration(hours) * time.Hour)
			put(t, folder, BackupName(now))
			if _, err := Rotate(folder, now); err != nil {
				t.Fatal(err)
			}
			left := names(t, folder)
			for _, name := range made[:2] {
				if hours == 0 && !slices.Contains(left, name) {
					t.Errorf("%d years ahead: %s is gone", years, name)
				}
			}
			days := map[string]bool{}
			for _, name := range left {
				days[name[:len("evenwhite-2031-03-31")]] = true
			}
			if len(days) < 6 { // five days of March, and today
				t.Fatalf("%d years and %d hours ahead, backups of %d days are left: %q", years, hours, len(days), left)
			}
		}
	}
}

func TestRotateRemovesWhatWasNeverFinished(t *testing.T) {
	folder := t.TempDir()
	put(t, folder, unfinished+"1", unfinished+"2")
	if err := os.Chtimes(filepath.Join(folder, unfinished+"1"), time.Time{}, time.Now().Add(-2*staleAfter)); err != nil {
		t.Fatal(err)
	}
	if _, err := Rotate(folder, time.Now()); err != nil {
		t.Fatal(err)
	}
	if got, want := names(t, folder), []string{unfinished + "2"}; !slices.Equal(got, want) {
		t.Errorf("left are %q, want %q", got, want)
	}
}

// A backup a random time apart, rotated each time: the newest is always there, no
// day of the last thirty on which one was made is without one, nor any month.
func TestRotateLeavesNoGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		folder, err := os.MkdirTemp("", "rotate")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(folder)
		now := time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)
		days, months := map[string]time.Time{}, map[string]bool{}
		for _, hours := range rapid.SliceOfN(rapid.IntRange(1, 200), 1, 40).Draw(t, "hours between") {
			now = now.Add(time.Duration(hours) * time.Hour)
			put(t, folder, BackupName(now))
			days[now.Format("2006-01-02")], months[now.Format("2006-01")] = now, true
			if _, err := Rotate(folder, now); err != nil {
				t.Fatal(err)
			}
			left := names(t, folder)
			if left[len(left)-1] != BackupName(now) {
				t.Fatalf("the newest is gone: %q", left)
			}
			for _, name := range left {
				at, err := time.Parse(backupForm, name)
				if err != nil {
					t.Fatal(err)
				}
				delete(months, at.Format("2006-01"))
			}
			if len(months) > 0 {
				t.Fatalf("of the months %v nothing is left: %q", months, left)
			}
			for day, last := range days {
				if now.Sub(last) <= keepDaily && !slices.ContainsFunc(left, func(name string) bool { return name[len("evenwhite-"):][:10] == day }) {
					t.Fatalf("of %s nothing is left: %q", day, left)
				}
			}
			for _, name := range left {
				months[name[len("evenwhite-"):][:7]] = true
			}
		}
		if len(names(t, folder)) > 48+30+24 {
			t.Fatalf("%d backups are left", len(names(t, folder)))
		}
	})
}
