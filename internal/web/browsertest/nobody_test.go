package browsertest

import (
	"context"
	"net/http"

	"linn/internal/web"
)

// nobody is an Access with no accounts: the gallery brings its own.
type nobody struct{ web.Keys }

func (nobody) Locked(*http.Request) (web.Actor, bool) { return web.Actor{}, false }
func (nobody) Who(*http.Request) (web.Actor, bool)    { return web.Actor{}, false }
func (nobody) SignIn(http.ResponseWriter, *http.Request, string, string) error {
	return web.ErrWrongPassword
}
func (nobody) SignOut(http.ResponseWriter, *http.Request) error              { return nil }
func (nobody) Empty(context.Context) (bool, error)                           { return true, nil }
func (nobody) First(http.ResponseWriter, *http.Request, web.NewPerson) error { return nil }
func (nobody) Demo(*http.Request) []web.Actor                                { return nil }
func (nobody) Vouch(http.ResponseWriter, *http.Request, string, string) (web.Actor, error) {
	return web.Actor{}, web.ErrWrongPassword
}
func (nobody) Be(http.ResponseWriter, *http.Request, string) error { return nil }
