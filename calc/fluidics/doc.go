// Package fluidics computes what a phaco machine's fluid does to the anterior
// chamber: steady pressures and flows, the rise of vacuum behind a blocked tip,
// and the surge when the block breaks. It is a lumped model of bottle or forced
// infusion, sleeve, wound, tip, aspiration line and pump; the globe is a spring
// by a chosen law. Its own integrators solve the equations (ode.go, dopri.go,
// rodas.go, integrate.go).
//
// # Sources
//
// No complete published model with parameters was found: the arrangement is
// our own (own-model, grade d), of textbook elements (poiseuille, bird2002,
// blasius1913, lame; grade c). The wound factor was fitted to the fall of
// pressure with leak in jcrs2023-49-976, the line compliance to the surge
// volumes of thorne2016 (both a, both from makers' laboratories). Globe laws:
// own, vanderwerff1981 (a), friedenwald1937 (c), pallikaris2005 (a, unit
// ambiguous). Chamber volume: jo2016-8656301 (a). Most dimensions are usual ones
// from memory (c). Integrators: dormand1980, hairer1996 (c; orders measured).
//
// # Inputs and units
//
// Settings in trade units by the keys of linn.chamber-settings/1 (see Fields for
// the bounds), or a Model with every number. Pressures are gauge, in mmHg; a
// bottle's height is in cm and counts 0.735559 mmHg/cm; flows in mL/min; volumes
// in µL. Inside: mmHg, µL, s.
//
// # Results
//
// Unrounded. Agreement with a fixed-step integration of the same equations in
// another language: 0.0005 mmHg and µL, 0.1 ms. That says nothing about eyes:
// surge numbers deserve two figures (TwoFigures) and a range over the line
// compliance (Spread); Uncertainty varies all that was not stated. Consoles are
// 10–20 % off until calibrated. A pressure below 0 only says how much fluid is
// missing: people see "collapse".
//
// # Valid for
//
// Comparing settings: which is steadier in this model, and why. Blocked
// pressure against bottle height, fall of pressure with flow and leak, size and
// signs of surge for a complete, instant break at the limit, which is the worst
// case. What is reproduced: leak slope 0.75 against 0.78 mmHg per mL/min; surge
// 153 against 154 µL and 15.7 against 15.7 µL (both by choice of the
// compliance); canine irrigation pressures; duration of surge; the sign of every
// published factor (flow, bottle, needle, restriction, limit).
//
// # Not valid for
//
// The least pressure in a patient: 35 mmHg was measured where the model says 4
// to 6 for an instant and 20 to 26 for a slow break, since real breaks are
// partial and start below the limit. Porcine pressures, unless the head's zero
// is shifted by 3 to 22 cm. Absolute rise times: they follow C·(0.9V-V₀)/q, but
// none was readable to compare; old pumps never reach a high limit, the model
// with its droop of 0.1 does. The effect of sleeve compression and the open flow
// of vacuum pumps are not validated. Outside its domain every function returns a
// *unit.RangeError.
//
// # Disagreements
//
// Rigidity coefficients of living eyes are printed as mmHg/µL without saying
// which logarithm; both readings can be chosen. One trial is reported with 41 %
// and with 49 % fall of pressure, and with two sets of bottle heights
// (vasavada2014). Six surge volumes for stiff lines in the reference page do not
// follow from its own program; testdata/derived/surge-bench.txt keeps them and
// says so.
//
// # Checked against
//
// testdata/derived: 24 worked cases, elements, a trace and small tables, made in
// another language from the reference page. testdata/published: pressures, surge
// volumes, handbook values, with what agrees and what does not. Without any
// published value: rise times, envelope, changes, spreads. For these stand a
// second and third integrator, closed forms, the balance of volume and of energy,
// velocity profiles solved on a grid, monotone behaviour, and 2000 random
// settings.
//
// # If wrong
//
// A surgeon trusts a setting under which the chamber collapses, or runs a
// pressure that starves the retina. The control: a model's numbers are never
// written onto a sheet, advice appears only for a calibrated machine, and every
// answer carries the finding reference-model.
package fluidics
