package sqlite

import (
	"bufio"
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/ledger/conformance"
)

func opened(t *testing.T, path string) *Book {
	t.Helper()
	b, err := Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestConformance(t *testing.T) {
	t.Parallel()
	conformance.Run(t, func(t *testing.T) ledger.Ledger { return opened(t, filepath.Join(t.TempDir(), "a b?c%#.db")) })
}

func TestBookConcurrent(t *testing.T) {
	t.Parallel()
	conformance.Concurrent(t, func(t *testing.T) ledger.Ledger { return opened(t, filepath.Join(t.TempDir(), "cellar.db")) })
}

// Everything survives closing and opening again, and the places go on.
func TestReopening(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "cellar.db")
	entries := conformance.Entries(t, 1, 4)
	ctx := context.Background()
	for i := range entries {
		b := opened(t, path)
		if _, err := b.Append(ctx, entries[i:i+1]); err != nil {
			t.Fatal(err)
		}
		got, err := b.After(ctx, "home", 0)
		if err != nil || len(got) != i+1 {
			t.Fatalf("%d entries, %v", len(got), err)
		}
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// Settings that the promise rests on: https://sqlite.org/pragma.html. FULL is 2.
func TestSettings(t *testing.T) {
	t.Parallel()
	b := opened(t, filepath.Join(t.TempDir(), "cellar.db"))
	defer b.Close()
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000", "application_id": fmt.Sprint(int32(applicationID))} {
		for name, db := range map[string]*sql.DB{"writer": b.write, "reader": b.read} {
			var got string
			if err := db.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
				t.Errorf("%s of the %s is %s, want %s (%v)", pragma, name, got, want, err)
			}
		}
	}
	if n := b.write.Stats().MaxOpenConnections; n != 1 {
		t.Errorf("%d writers", n)
	}
}

func TestNothingIsChangedOrDeleted(t *testing.T) {
	t.Parallel()
	b := opened(t, filepath.Join(t.TempDir(), "cellar.db"))
	defer b.Close()
	if _, err := b.Append(context.Background(), conformance.Entries(t, 1, 1)); err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{"DELETE FROM entry", "UPDATE entry SET line = ''"} {
		if _, err := b.write.Exec(q); err == nil {
			t.Errorf("%s went through", q)
		}
	}
}

func TestForeignFilesAreRefused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	text := filepath.Join(dir, "notes.txt")
	if err := os.WriteFile(text, []byte(strings.Repeat("these are notes and not a cellar\n", 200)), 0o600); err != nil {
		t.Fatal(err)
	}
	foreign := filepath.Join(dir, "foreign.db")
	db, err := connect(foreign, "immediate")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE recipe (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	for _, path := range []string{text, foreign} {
		before, _ := os.ReadFile(path)
		if _, err := Open(context.Background(), path); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%s: %v", path, err)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s was changed", path)
		}
	}
	if _, err := Open(context.Background(), filepath.Join(dir, "no", "such", "folder", "c.db")); err == nil {
		t.Error("opened in a folder that is not there")
	}
}

func TestBackupAndRestore(t *testing.T) {
	t.Parallel()
	ctx, dir := context.Background(), t.TempDir()
	b := opened(t, filepath.Join(dir, "cellar.db"))
	entries := conformance.Entries(t, 1, 50)
	if _, err := b.Append(ctx, entries[:40]); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(dir, "backups", "monday.db")
	for range 2 { // the second replaces the first
		if err := b.Backup(ctx, backup); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.Append(ctx, entries[40:]); err != nil {
		t.Fatal(err)
	}
	if files, _ := os.ReadDir(filepath.Dir(backup)); len(files) != 1 {
		t.Errorf("the backup left %v beside it", files)
	}
	if err := Restore(ctx, backup, filepath.Join(dir, "cellar.db")); fault.KindOf(err) != fault.Conflict {
		t.Errorf("restoring over a ledger: %v", err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	restored := filepath.Join(dir, "restored.db")
	if err := Restore(ctx, backup, restored); err != nil {
		t.Fatal(err)
	}
	r := opened(t, restored)
	defer r.Close()
	got, err := r.After(ctx, "home", 0)
	if err != nil || len(got) != 40 {
		t.Fatalf("%d entries restored, want 40 (%v)", len(got), err)
	}
	for i := range got {
		if string(got[i].AppendLine(nil)) != string(entries[i].AppendLine(nil)) {
			t.Errorf("entry %d came back as %s", i, got[i].AppendLine(nil))
		}
	}
	// What was written after the backup arrives again without harm.
	if out, err := r.Append(ctx, entries); err != nil || ledger.Summary(out) != "10 new, 40 known, 0 conflicting" {
		t.Errorf("%s, %v", ledger.Summary(out), err)
	}
}

func TestDamagedBackupsAreRefused(t *testing.T) {
	t.Parallel()
	ctx, dir := context.Background(), t.TempDir()
	b := opened(t, filepath.Join(dir, "cellar.db"))
	if _, err := b.Append(ctx, conformance.Entries(t, 1, 400)); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(dir, "backup.db")
	if err := b.Backup(ctx, backup); err != nil {
		t.Fatal(err)
	}
	b.Close()
	whole, err := os.ReadFile(backup)
	if err != nil {
		t.Fatal(err)
	}
	for name, damage := range map[string]func([]byte) []byte{
		"cut short":     func(b []byte) []byte { return b[:len(b)/2] },
		"a page zeroed": func(b []byte) []byte { clear(b[3*4096 : 4*4096]); return b },
		"no cellar":     func(b []byte) []byte { b[68] ^= 0xff; return b }, // application_id, https://sqlite.org/fileformat.html
		"not a file":    nil,
	} {
		path := filepath.Join(dir, "damaged.db")
		os.Remove(path)
		if damage != nil {
			if err := os.WriteFile(path, damage(append([]byte{}, whole...)), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		target := filepath.Join(dir, "target.db")
		if err := Restore(ctx, path, target); err == nil || fault.KindOf(err) == fault.Internal {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := os.Stat(target); err == nil {
			t.Errorf("%s: something was restored", name)
			os.Remove(target)
		}
	}
}

// SQLite binds $n and bare ? by order of appearance: one text for both databases
// needs ?1, ?2 …
func TestPlaceholdersAreNumbered(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	statement := regexp.MustCompile("(?is)[`\"]\\s*(select|insert|update|delete|vacuum)\\b[^`\"]*[`\"]")
	bad := regexp.MustCompile(`\$\d|\?(\D|$)|[:@]\w+`)
	found := 0
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range statement.FindAllString(string(text), -1) {
			found++
			if m := bad.FindString(s); m != "" {
				t.Errorf("%s: %q in %s", f, m, s)
			}
		}
	}
	if found < 5 {
		t.Errorf("only %d statements found: the test looks in the wrong place", found)
	}
	for s, want := range map[string]bool{"SELECT ?1": false, "SELECT ?": true, "SELECT $1": true, "SELECT ? , ?2": true} {
		if bad.MatchString(s) != want {
			t.Errorf("%s", s)
		}
	}
}

const writerEnv = "ELEVAGE_TEST_WRITER"

// TestMain lets the test program be the writer that gets killed.
func TestMain(m *testing.M) {
	if path := os.Getenv(writerEnv); path != "" {
		writeUntilKilled(path)
		return
	}
	os.Exit(m.Run())
}

// writeUntilKilled appends entries two by two and says so only once they are kept.
func writeUntilKilled(path string) {
	b, err := Open(context.Background(), path)
	if err != nil {
		fmt.Println("error", err)
		return
	}
	var t testing.T
	pair := conformance.Entries(&t, 1, 2)
	for {
		ids, err := cellar.NewIDs(time.Now(), rand.Reader, 2)
		if err != nil {
			fmt.Println("error", err)
			return
		}
		pair[0].ID, pair[1].ID = ids[0], ids[1]
		if _, err := b.Append(context.Background(), pair); err != nil {
			fmt.Println("error", err)
			return
		}
		fmt.Println(pair[0].ID, pair[1].ID)
	}
}

// A writer that is killed loses nothing that it was told was kept, and leaves no
// half of a batch. (This tests the death of a process, not of the power.)
func TestKilledWriterLosesNothing(t *testing.T) {
	t.Parallel()
	kills := 3
	if os.Getenv("ELEVAGE_LONG") != "" {
		kills = 40
	}
	path := filepath.Join(t.TempDir(), "cellar.db")
	acknowledged := map[cellar.ID]bool{}
	for k := range kills {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), writerEnv+"="+path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for n := 0; lines.Scan(); n++ {
			if strings.HasPrefix(lines.Text(), "error") {
				t.Fatal(lines.Text())
			}
			for _, id := range strings.Fields(lines.Text()) {
				acknowledged[cellar.ID(id)] = true
			}
			if n == 20+17*k {
				cmd.Process.Kill() // what it wrote before is still read to its end
			}
		}
		cmd.Wait()
	}
	b := opened(t, path)
	defer b.Close()
	var answer string
	if err := b.read.QueryRow("PRAGMA integrity_check").Scan(&answer); err != nil || answer != "ok" {
		t.Errorf("integrity: %s %v", answer, err)
	}
	kept, err := b.After(context.Background(), "home", 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(kept)%2 != 0 {
		t.Errorf("%d entries: half a batch was kept", len(kept))
	}
	for _, e := range kept {
		delete(acknowledged, e.ID)
	}
	if len(acknowledged) > 0 || len(kept) < 40*kills {
		t.Errorf("of %d entries kept, %d that were acknowledged are gone", len(kept), len(acknowledged))
	}
}

func BenchmarkAppend(b *testing.B) {
	for _, size := range []int{1, 100} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			book, err := Open(context.Background(), filepath.Join(b.TempDir(), "cellar.db"))
			if err != nil {
				b.Fatal(err)
			}
			defer book.Close()
			entries := conformance.Entries(b, 1, size)
			n := 0
			for b.Loop() {
				for i := range entries {
					n++
					entries[i].ID = cellar.ID(fmt.Sprintf("0190a5e0-7c3a-7000-8000-%012x", n))
				}
				if _, err := book.Append(context.Background(), entries); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "entries/s")
		})
	}
}

func BenchmarkAfter(b *testing.B) {
	book, err := Open(context.Background(), filepath.Join(b.TempDir(), "cellar.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	const n = 10_000
	if _, err := book.Append(context.Background(), conformance.Entries(b, 1, n)); err != nil {
		b.Fatal(err)
	}
	for _, after := range []int{0, n - 1} {
		b.Run(fmt.Sprintf("%d of %d", n-after, n), func(b *testing.B) {
			for b.Loop() {
				if _, err := book.After(context.Background(), "home", after); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
