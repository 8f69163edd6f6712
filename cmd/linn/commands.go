package main

import (
	"io"
	"os"
	"strings"

	"github.com/alecthomas/kong"

	"linn/finding"
	"linn/internal/locale"
)

// commands are what linn can be asked, in the order of its help. Each has a
// file of its own.
type commands struct {
	Serve     serveCommand     `cmd:"" help:"${help_serve}"`
	Lens      lensCommand      `cmd:"" help:"${help_lens}"`
	Cornea    corneaCommand    `cmd:"" help:"${help_cornea}"`
	Plan      planCommand      `cmd:"" help:"${help_plan}"`
	Chamber   chamberCommand   `cmd:"" help:"${help_chamber}"`
	Calibrate calibrateCommand `cmd:"" help:"${help_calibrate}"`
	Eye       eyeCommand       `cmd:"" help:"${help_eye}"`
	Technique techniqueCommand `cmd:"" help:"${help_technique}"`
	Dose      doseCommand      `cmd:"" help:"${help_dose}"`
	Label     labelCommand     `cmd:"" help:"${help_label}"`
	Dicom     dicomCommand     `cmd:"" help:"${help_dicom}"`
	Verify    verifyCommand    `cmd:"" help:"${help_verify}"`
	Recall    recallCommand    `cmd:"" help:"${help_recall}"`
	Backup    backupCommand    `cmd:"" help:"${help_backup}"`
	Restore   restoreCommand   `cmd:"" help:"${help_restore}"`
	Export    exportCommand    `cmd:"" help:"${help_export}"`
	Import    importCommand    `cmd:"" help:"${help_import}"`
	Version   versionCommand   `cmd:"" help:"${help_version}"`
	Help      helpCommand      `cmd:"" help:"${help_help}"`
}

// helpTexts gives the parser every message "help.…" of the catalogue.
func helpTexts(lang locale.Language) kong.Vars {
	v := kong.Vars{}
	for _, key := range locale.Keys(locale.English) {
		if rest, ok := strings.CutPrefix(key, "help."); ok {
			v["help_"+strings.NewReplacer("-", "_", ".", "_").Replace(rest)] = locale.T(lang, key)
		}
	}
	return v
}

// helpCommand explains the program or one command.
type helpCommand struct {
	Command []string `arg:"" optional:"" help:"${help_command}"`
}

func (h *helpCommand) Run(a *app, k *kong.Context) error {
	trace, err := kong.Trace(k.Kong, h.Command)
	if err != nil {
		return err
	}
	if trace.Error != nil {
		return usageError(trace.Error.Error())
	}
	return trace.PrintUsage(false)
}

// open opens the file a command was given, "-" being standard input.
func (a *app) open(name string) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(a.in), nil
	}
	return os.Open(name)
}

// maxInput bounds a file that is read whole. The longest honest case is a
// thousandth of it.
const maxInput = 16 << 20

// read reads a whole file; more than maxInput is refused.
func (a *app) read(name string) ([]byte, finding.Refusals, error) {
	f, err := a.open(name)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxInput+1))
	if len(b) > maxInput {
		return nil, finding.Refusals{{Code: "file-too-large"}}, nil
	}
	return b, nil, err
}

// refuse tells why the input named name was refused.
func (a *app) refuse(name string, list finding.Refusals) error {
	c := newComplaints(a, name)
	for _, r := range list {
		c.tell(r)
	}
	c.close()
	return errRefused
}
