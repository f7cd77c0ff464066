package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
)

// dataHome is where a person's programs keep their data: the XDG base directory
// on Linux and its kin, the platform's own folder elsewhere.
func dataHome() string {
	home, err := os.UserHomeDir()
	if err != nil {
		home = "."
	}
	switch runtime.GOOS {
	case "windows":
		if d := os.Getenv("LOCALAPPDATA"); d != "" {
			return d
		}
		return filepath.Join(home, "AppData", "Local")
	case "darwin":
		return filepath.Join(home, "Library", "Application Support")
	}
	if d := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(d) {
		return d
	}
	return filepath.Join(home, ".local", "share")
}

// openBrowser shows an address in the person's browser. That it cannot is no
// trouble: the address is printed too.
func openBrowser(address string) {
	var c *exec.Cmd
	switch runtime.GOOS {
	case "windows":
		c = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	case "darwin":
		c = exec.Command("open", address)
	default:
		c = exec.Command("xdg-open", address)
	}
	if c.Start() == nil {
		go c.Wait() //nolint:errcheck // its end tells nothing
	}
}
