package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) { testscript.Main(m, map[string]func(){"elevage": main}) }

// TestScripts runs the command line as people and scripts do; each file under
// testdata is one story.
func TestScripts(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{
		Dir: "testdata", RequireExplicitExec: true, RequireUniqueNames: true, UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			// A home of its own: no test may touch a person's cellar.
			e.Setenv("HOME", filepath.Join(e.WorkDir, "home"))
			e.Setenv("XDG_DATA_HOME", filepath.Join(e.WorkDir, "data"))
			e.Setenv("ELEVAGE_DATA", "")
			e.Setenv("ELEVAGE_PASSPHRASE", "")
			e.Setenv("TZ", "UTC")
			return nil
		},
	})
}

// The demo starts, prints its address, answers there, and leaves nothing behind.
func TestDemoStartsAndEnds(t *testing.T) {
	t.Parallel()
	temp := t.TempDir()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	demo := exec.CommandContext(ctx, "elevage", "demo", "--addr", "127.0.0.1:0", "--no-browser")
	demo.Env = append(os.Environ(), "TMPDIR="+temp, "HOME="+temp, "XDG_DATA_HOME="+temp)
	out, err := demo.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var errs strings.Builder
	demo.Stderr = &errs
	if err := demo.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(out)
	line, err := lines.ReadString('\n')
	address := strings.TrimSpace(line)
	if err != nil || !strings.HasPrefix(address, "http://127.0.0.1:") {
		t.Fatalf("the first line is %q (%v): %s", line, err, errs.String())
	}
	for path, want := range map[string]string{"": "This cellar is invented", "cellar": "This cellar is invented", "bench/molecular-so2": "Reckon", "api/v1/openapi.json": `"openapi"`} {
		if body := fetched(t, address+path); !strings.Contains(body, want) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	if left, err := os.ReadDir(temp); err != nil || len(left) != 1 || !strings.HasPrefix(left[0].Name(), "elevage-demo-") {
		t.Errorf("while it runs it keeps %v (%v)", left, err)
	}
	if err := demo.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	rest, _ := io.ReadAll(lines) //nolint:errcheck // it ends with the program
	if err := demo.Wait(); err != nil {
		t.Errorf("it ended with %v after %q: %s", err, rest, errs.String())
	}
	if left, err := os.ReadDir(temp); err != nil || len(left) > 0 {
		t.Errorf("it left %v behind (%v)", left, err)
	}
}

// fetched is a page, once it is no longer being reckoned.
func fetched(t *testing.T, address string) string {
	t.Helper()
	for {
		r, err := http.Get(address) //nolint:gosec // our own demo
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(r.Body)
		r.Body.Close() //nolint:errcheck // read to its end
		if err != nil || r.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s, %v", address, r.Status, err)
		}
		if r.Header.Get("Refresh") == "" {
			return string(body)
		}
		time.Sleep(200 * time.Millisecond)
	}
}
