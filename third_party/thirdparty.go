// Package thirdparty embeds the files made by others that the pages need:
// typefaces and one script. MANIFEST.txt names each file's package, version,
// licence and SHA-256; the licence texts are embedded too, so that the
// program can show them.
package thirdparty

import "embed"

// Files holds what the program serves. The accessibility checker in axe-core
// is for tests and is not among them.
//
//go:embed MANIFEST.txt atkinson-hyperlegible-next atkinson-hyperlegible-mono noto-sans-devanagari htmx
var Files embed.FS
