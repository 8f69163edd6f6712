package web

import (
	"context"

	"linn/internal/pathway"
)

// cannedHand answers the lens in hand in the gallery.
type cannedHand struct{}

func (cannedHand) InHand(context.Context, Actor, string) (pathway.Hand, error) {
	return pathway.Hand{}, ErrNotFound
}

func (cannedHand) HoldBox(context.Context, Actor, pathway.Box) (pathway.BoxAnswer, error) {
	return pathway.BoxAnswer{}, ErrNotFound
}
