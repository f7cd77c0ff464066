package serve

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestCalendarKeyIsKeptAndRenewed(t *testing.T) {
	dir := t.TempDir()
	k := newCalendarKey(dir)
	first, err := k.current()
	if err != nil || len(first) < 32 {
		t.Fatalf("key %q, %v", first, err)
	}
	if again, err := newCalendarKey(dir).current(); err != nil || again != first {
		t.Errorf("another program start has another key: %q, %v", again, err)
	}
	if info, err := os.Stat(filepath.Join(dir, "calendar.key")); err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("the key's file can be read by others: %v %v", info.Mode(), err)
	}
	if renewed, err := k.renew(); err != nil || renewed == first {
		t.Errorf("not renewed: %q, %v", renewed, err)
	}
}

func TestCalendarKeyStaysOutOfLogs(t *testing.T) {
	if got := loggable(calendarPath + "secret.ics"); strings.Contains(got, "secret") {
		t.Errorf("logged as %q", got)
	}
	if got := loggable("/lots/a"); got != "/lots/a" {
		t.Errorf("logged as %q", got)
	}
}

// A code that a phone cannot read is worse than none: the modules drawn must be
// the encoder's own, inside a quiet zone of four.
func TestQRIsDrawnModuleByModule(t *testing.T) {
	svg, err := qrOf("https://cellar.home.arpa/lots/merlot#v-b2")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(svg), `viewBox="0 0 37 37"`) && !strings.Contains(string(svg), `viewBox="0 0 41 41"`) {
		t.Errorf("unexpected size: %.80s", svg)
	}
	if !strings.Contains(string(svg), "M4 4h7v1h-7z") {
		t.Errorf("the corner mark is not where ISO/IEC 18004 puts it: %.200s", svg)
	}
}
