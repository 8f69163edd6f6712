package web

import (
	"errors"
	"net/http"

	"linn/finding"
)

// ProtocolPage is the ward's own rules.
type ProtocolPage struct {
	Frame
	Form    Protocol
	Refused []string
}

func (s *server) protocol(w http.ResponseWriter, r *http.Request, by Actor) error {
	p, err := s.Pathway.Protocol(r.Context(), by)
	if err != nil {
		return err
	}
	return s.protocolPage(w, r, by, p, nil)
}

func (s *server) protocolPage(w http.ResponseWriter, r *http.Request, by Actor, p Protocol, refused finding.Refusals) error {
	v := ProtocolPage{Frame: s.frame(r, by, s.t("protocol.heading"), "desk"), Form: p, Refused: s.refusalText(refused)}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "protocol", "page", v)
}

func (s *server) settleProtocol(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	p := Protocol{Editable: true, Revision: revision(r), Hospital: get("hospital"), Zone: get("zone"), Places: get("places"),
		ReadingAge: get("reading-age"), LoneDelay: get("lone-delay"), Recalled: get("recalled"), Phone: get("phone"), Reason: get("reason")}
	err := s.Pathway.SetProtocol(r.Context(), by, p)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		now, err := s.Pathway.Protocol(r.Context(), by)
		if err != nil {
			return err
		}
		p.UsualAge, p.UsualDelay = now.UsualAge, now.UsualDelay
		return s.protocolPage(w, r, by, p, refused)
	}
	if err == nil {
		s.to(w, r, "/desk/protocol")
	}
	return err
}
