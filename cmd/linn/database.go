package main

import (
	"linn/internal/pathway"
	"linn/internal/store"
)

// openDatabase opens the record in PostgreSQL.
func openDatabase(a *app, url string) (pathway.Store, error) {
	return store.OpenPostgres(a.ctx, url)
}
