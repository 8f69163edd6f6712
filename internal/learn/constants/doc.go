// Package constants learns lens constants from outcomes: one constant per lens
// model, method and biometry device, never carried from one device to another.
//
// A [Set] holds the eyes of one [Key] with the constant in force. An eye is
// anything that can say what its lens would have left at a given constant: the
// classical methods through [Classic], or any other [Predictor]. The set is
// fitted by several criteria ([Set.Fit]); the three Haigis constants by
// [Set.FitPositions] and [Set.FitThree]; a fit on few eyes is drawn towards
// what was believed before ([Shrink], [Pool]); [Set.CrossValidate] says what
// the change would have gained on eyes it was not made from, [Set.Trend] and
// [Set.ChangePoint] whether the errors drift or jump, [OwnWeight] how much of a
// first eye's error the second eye shares. [Set.Propose] puts it together.
// Nothing here changes a plan: a person accepts a proposal.
//
// Errors are achieved minus predicted refraction in D, spherical equivalent at
// the plane the Predictor speaks of; positive is more hyperopic than predicted.
// Eyes that no prediction can be made for are named, never dropped in silence.
// Which outcomes are fit to learn from is decided before they come here.
package constants
