// Package audit turns outcomes into statistics and watches them over time: the
// errors of a method with their intervals, methods against each other on the
// same eyes, proportions, observed against expected complications, funnel
// limits and cumulative charts.
//
// Errors are achieved − predicted in D. Nothing here judges a person: a chart
// that signals asks for a case review. Intervals are two-sided 95 % unless a
// name says otherwise. Quantiles are type 7, standard deviations divide by
// n − 1. Chance is drawn from the source that is passed in.
//
// The equations are textbook practice, from memory (textbook-tests), or stand
// with the paper they are told of; testdata/derived holds what R and an
// independent Python program make of the same inputs.
package audit
