package pathway

import (
	"errors"
	"fmt"
	"slices"

	"linn/internal/care/casebook"
)

// Verb is something a person can do with the ward. The names are stable: they
// stand in the access log.
type Verb string

// The verbs, in patient order, then those of the ward's own things.
const (
	VerbWard       Verb = "ward"        // see the eyes to do
	VerbAddPatient Verb = "add-patient" //
	VerbOpenCase   Verb = "open-case"   //
	VerbEye        Verb = "eye"         // see one eye's journey
	VerbMeasure    Verb = "measure"     // enter readings, and enter them again
	VerbPass       Verb = "pass"        // let a gated caution through
	VerbChoose     Verb = "choose"      // lens, power, target
	VerbFindings   Verb = "findings"    // record what is found beside the readings
	VerbDecide     Verb = "decide"      // technique and anaesthesia
	VerbDrugs      Verb = "drugs"       // record drugs as drawn up, and check them
	VerbConsent    Verb = "consent"     // record consent, mark and list
	VerbList       Verb = "list"        // put on a theatre list
	VerbPhases     Verb = "phases"      // settings of the machine by phase
	VerbReadBack   Verb = "read-back"   // be the second person
	VerbSign       Verb = "sign"        //
	VerbSheet      Verb = "sheet"       //
	VerbReopen     Verb = "reopen"      //
	VerbScan       Verb = "scan"        // hold a box against the signed plan
	VerbOperate    Verb = "operate"     // write down the operation
	VerbAttach     Verb = "attach"      // photos and scanned sheets
	VerbRound      Verb = "round"       // see the operated eyes
	VerbFollowUp   Verb = "follow-up"   // write down a visit
	VerbTrace      Verb = "trace"       // say why nobody is expected any more
	VerbCorrect    Verb = "correct"     // readings after signing, or the person
	VerbMove       Verb = "move"        // readings entered on the wrong eye or person
	VerbClose      Verb = "close"       //
	VerbMerge      Verb = "merge"       //
	VerbErase      Verb = "erase"       //
	VerbHistory    Verb = "history"     // see earlier revisions of an eye or a person

	VerbShelf     Verb = "shelf"      // see the lenses
	VerbLens      Verb = "lens"       // add and edit lens models and constants
	VerbStock     Verb = "stock"      // count lenses
	VerbMachine   Verb = "machine"    // measure a machine
	VerbDesk      Verb = "desk"       // see the people
	VerbPeople    Verb = "people"     // add and edit people
	VerbProtocol  Verb = "protocol"   // edit the local protocol
	VerbAccessLog Verb = "access-log" //
	VerbVerify    Verb = "verify"     //
	VerbRecall    Verb = "recall"     // find what a recalled thing touched
	VerbTally     Verb = "tally"      // count passes and lone signatures

	VerbLock       Verb = "lock"         // take a day's list out of the record, to go on without it
	VerbBreakGlass Verb = "break-glass"  // look at one patient in an emergency
	VerbReview     Verb = "review-glass" // say afterwards whether that was right
)

// Verbs lists the verbs in order.
var Verbs = []Verb{VerbWard, VerbAddPatient, VerbOpenCase, VerbEye, VerbMeasure, VerbPass, VerbChoose, VerbPhases, VerbFindings, VerbDecide, VerbDrugs, VerbConsent, VerbList, VerbReadBack,
	VerbSign, VerbSheet, VerbReopen, VerbScan, VerbOperate, VerbAttach, VerbRound, VerbFollowUp, VerbTrace, VerbCorrect, VerbMove, VerbClose, VerbMerge, VerbErase, VerbHistory,
	VerbShelf, VerbLens, VerbStock, VerbMachine, VerbDesk, VerbPeople, VerbProtocol, VerbAccessLog, VerbVerify, VerbRecall, VerbTally, VerbLock, VerbBreakGlass, VerbReview}

const (
	technician    = casebook.Technician
	trainee       = casebook.Trainee
	surgeon       = casebook.Surgeon
	nurse         = casebook.Nurse
	counsellor    = casebook.Counsellor
	auditor       = casebook.Auditor
	administrator = casebook.Administrator
)

// permitted says which roles may do what. A role that is not named may not.
// Passing a gate asks for a supervisor besides, signing as a trainee for a
// supervisor's signature.
var permitted = map[Verb][]casebook.Role{
	VerbWard:       {technician, trainee, surgeon, nurse, counsellor, auditor, administrator},
	VerbAddPatient: {technician, trainee, surgeon, nurse, counsellor},
	VerbOpenCase:   {technician, trainee, surgeon, nurse, counsellor},
	VerbEye:        {technician, trainee, surgeon, nurse, counsellor, auditor},
	VerbMeasure:    {technician, trainee, surgeon, nurse},
	VerbPass:       {surgeon},
	VerbChoose:     {trainee, surgeon},
	VerbPhases:     {trainee, surgeon},
	VerbFindings:   {technician, trainee, surgeon, nurse},
	VerbDecide:     {trainee, surgeon},
	VerbDrugs:      {trainee, surgeon, nurse},
	VerbConsent:    {trainee, surgeon, nurse, counsellor},
	VerbList:       {trainee, surgeon, nurse, counsellor},
	VerbReadBack:   {technician, trainee, surgeon, nurse},
	VerbSign:       {trainee, surgeon},
	VerbSheet:      {technician, trainee, surgeon, nurse},
	VerbReopen:     {trainee, surgeon, nurse},
	VerbScan:       {trainee, surgeon, nurse},
	VerbOperate:    {trainee, surgeon, nurse},
	VerbAttach:     {technician, trainee, surgeon, nurse},
	VerbRound:      {technician, trainee, surgeon, nurse, counsellor, auditor},
	VerbFollowUp:   {technician, trainee, surgeon, nurse},
	VerbTrace:      {technician, trainee, surgeon, nurse, counsellor},
	VerbCorrect:    {technician, trainee, surgeon, nurse},
	VerbMove:       {technician, trainee, surgeon, nurse},
	VerbClose:      {trainee, surgeon, nurse},
	VerbMerge:      {surgeon, nurse, administrator},
	VerbErase:      {surgeon, administrator},
	VerbHistory:    {technician, trainee, surgeon, nurse, counsellor, auditor},

	VerbShelf:     {technician, trainee, surgeon, nurse, counsellor, auditor, administrator},
	VerbLens:      {surgeon},
	VerbStock:     {technician, trainee, surgeon, nurse, administrator},
	VerbMachine:   {technician, trainee, surgeon, nurse},
	VerbDesk:      {technician, trainee, surgeon, nurse, counsellor, auditor, administrator},
	VerbPeople:    {administrator},
	VerbProtocol:  {surgeon, administrator},
	VerbAccessLog: {auditor, administrator},
	VerbVerify:    {surgeon, auditor, administrator},
	VerbRecall:    {surgeon, auditor},
	VerbTally:     {surgeon, auditor, administrator},

	VerbLock:       {trainee, surgeon, nurse},
	VerbBreakGlass: {technician, trainee, surgeon, nurse, counsellor, auditor, administrator},
	VerbReview:     {auditor, administrator},
}

// May reports whether the role may do the verb at all.
func May(role casebook.Role, verb Verb) bool { return slices.Contains(permitted[verb], role) }

// ForbiddenError says that the person's role does not do this, or that the
// person is not, or no longer, on the Desk.
type ForbiddenError struct {
	Verb Verb
	Role casebook.Role // "" when the person is not on the Desk
}

func (e *ForbiddenError) Error() string {
	return fmt.Sprintf("pathway: %q may not %s", e.Role, e.Verb)
}

// permit returns the person as the Desk knows them now: what an actor claims
// about role and name is not believed.
func permit(tx casebook.Tx, by casebook.Actor, verb Verb) (casebook.Actor, error) {
	p, _, err := casebook.Load[casebook.Person](tx, by.ID)
	if errors.Is(err, casebook.ErrAbsent) || err == nil && !p.Active {
		return by, &ForbiddenError{Verb: verb}
	}
	if err != nil {
		return by, err
	}
	if !May(p.Role, verb) {
		return by, &ForbiddenError{Verb: verb, Role: p.Role}
	}
	return p.Actor(by.ID), nil
}
