//go:build !postgres

package main

import (
	"errors"

	"linn/internal/pathway"
)

// openDatabase says that this build has no PostgreSQL.
func openDatabase(a *app, _ string) (pathway.Store, error) {
	return nil, errors.New(a.t("serve.no-postgres"))
}
