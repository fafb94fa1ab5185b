package pipeline

import (
	"testing"

	"secondcut/geometry"
	"secondcut/vision/weave"
)

func TestOfferedGrain(t *testing.T) {
	for _, c := range []struct {
		got  weave.Reading
		want geometry.Grain
	}{
		{weave.Reading{Grain: geometry.Grain{Deg: 91.234, Sure: 0.876}}, geometry.Grain{Deg: 91.2, Sure: 0.88}},
		{weave.Reading{Grain: geometry.Grain{Deg: 179.97, Sure: 1}}, geometry.Grain{Deg: 0, Sure: 1}},
		{weave.Reading{Grain: geometry.Grain{Deg: 90, Sure: 1}, Either: true}, geometry.Grain{Deg: 90, Sure: 0.5}},
	} {
		if g := offered(c.got); *g != c.want {
			t.Errorf("%+v is offered as %+v, want %+v", c.got, *g, c.want)
		}
	}
}
