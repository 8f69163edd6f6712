// Package followup is what is seen after the operation: visits, the day each is
// due, and what does not fit.
//
// A [Visit] holds texts as typed. [Plan] says for one operated eye which visit
// is due, overdue or lost on a civil day that is passed in: a day that nobody
// wrote down is not a visit, and an eye that nobody saw is not well. Acuities
// are read by calc/refraction and keep the chart's own text.
package followup
