package web

import "net/http"

// benchPages are the pages of the bench, in the order in which they are
// listed: address below /bench and the key of their name.
var benchPages = [][2]string{{"meridians", "bench.meridians"}}

// BenchPage lists what there is to play with.
type BenchPage struct {
	Frame
	Pages []Link
}

func (s *server) bench(w http.ResponseWriter, r *http.Request, by Actor) error {
	v := BenchPage{Frame: s.frame(r, by, s.t("bench"), "bench")}
	for _, p := range benchPages {
		v.Pages = append(v.Pages, Link{Href: s.prefix + "/bench/" + p[0], Text: s.t(p[1])})
	}
	return s.render(w, http.StatusOK, "bench", "page", v)
}
