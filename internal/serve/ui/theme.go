package ui

import (
	"net/http"
	"net/url"
	"strings"
)

const themeCookie = "theme"

// ThemeOf is the theme the person chose on this device; Auto when none.
func ThemeOf(r *http.Request) Theme {
	c, err := r.Cookie(themeCookie)
	if err != nil {
		return Auto
	}
	return themeNamed(c.Value)
}

func themeNamed(s string) Theme {
	switch t := Theme(s); t {
	case Slate, Paper:
		return t
	}
	return Auto
}

// ThemeSwitch keeps the choice for a year and goes back to where it was made. It
// takes a POST with theme (slate, paper, or empty to follow the device) and back.
// The page's script does the same without the round trip.
func ThemeSwitch() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		th := themeNamed(r.FormValue("theme"))
		c := &http.Cookie{Name: themeCookie, Value: string(th), Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode}
		if th == Auto {
			c.MaxAge = -1
		}
		http.SetCookie(w, c)
		http.Redirect(w, r, localPath(r.FormValue("back")), http.StatusSeeOther)
	})
}

// localPath lets a redirect lead only to a page of our own.
func localPath(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(u.Path, "/") ||
		strings.HasPrefix(back, "//") || strings.ContainsAny(back, "\\\r\n\t") {
		return "/"
	}
	return u.RequestURI()
}
