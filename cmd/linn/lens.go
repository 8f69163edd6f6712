package main

import (
	"encoding/json"

	"linn/internal/paper"
	"linn/internal/pathway"
)

// lensCommand answers one eye, or a table of eyes.
type lensCommand struct {
	File string `arg:"" help:"${help_lens_file}"`
	JSON bool   `help:"${help_json}" xor:"form"`
	CSV  bool   `help:"${help_lens_csv}" xor:"form" name:"csv"`

	Historical bool `help:"${help_lens_historical}"`

	Progress bool `help:"${help_progress}"`
}

func (c *lensCommand) Run(a *app) error {
	if c.CSV {
		return a.lensTable(c.File, c.Progress, c.options())
	}
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	answer, eye, refused := pathway.LensWith(data, c.options())
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	if c.JSON {
		return a.json(answer)
	}
	return paper.Text(a.out, a.writer().lens(&eye, &answer))
}

func (c *lensCommand) options() pathway.LensOptions {
	return pathway.LensOptions{Historical: c.Historical}
}

// writer puts answers into the person's language.
func (a *app) writer() writer { return writer{words{a.lang}} }

// json writes an answer's JSON with a line end behind it.
func (a *app) json(answer any) error {
	enc := json.NewEncoder(a.out)
	enc.SetEscapeHTML(false)
	return enc.Encode(answer)
}
