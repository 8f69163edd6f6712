// Package access proves who is at the keyboard: passwords, sessions, the
// limits on guessing, and the HTTP guard that stands before every page. It
// decides nothing about what a person may do; that is pathway's.
//
// A request passes, in this order: the Host check (a page of a stranger whose
// name was pointed at this machine is refused), the security headers, the
// body limits, the cross-origin check, and the session cookie. A handler finds
// the person with [Person].
package access
