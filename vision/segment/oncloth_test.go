package segment

import (
	"context"
	"math"
	"testing"

	"secondcut/geometry"
)

// A card that lies on the cloth hides its edge: the stretch is in doubt for that
// reason. A card that only touches the cloth leaves the edge as it is.
func TestCardOnTheClothIsInDoubt(t *testing.T) {
	for _, c := range []struct {
		name string
		x    float64 // of the card's left side; the cloth ends at 300
		want bool
	}{{"on the cloth", 260, true}, {"touching", 301, false}} {
		d := newDrawing(480, 360, wood, 6, 4)
		d.cloth(box(120, 60, 300, 300), all(blue))
		d.card(c.x, 140)
		regions, _, err := Cloth(context.Background(), d.pl, nil, Options{})
		if err != nil {
			t.Fatal(err)
		}
		marked, elsewhere := 0, 0
		for i, why := range regions[0].Outer.Why {
			p := regions[0].Outer.Points[i]
			if why != whyOnCloth {
				continue
			}
			if near := p.X > 245 && p.Y > 125 && p.Y < 235; near && regions[0].Outer.Doubt[i] == 1 {
				marked++
			} else {
				elsewhere++
			}
		}
		if marked > 60 != c.want || elsewhere > 0 {
			t.Errorf("%s: %d mm marked there and %d elsewhere", c.name, marked, elsewhere)
		}
	}
}

func TestDipIsInwards(t *testing.T) {
	ring := geometry.Polyline{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 20, Y: 7}, {X: 30, Y: 0}, {X: 30, Y: 40}, {X: 0, Y: 40}}
	if v := dip(ring, 0, 3); math.Abs(v-7) > 1e-9 {
		t.Errorf("a dip of 7 mm measures %.2f", v)
	}
	ring[2].Y = -7
	if v := dip(ring, 0, 3); v != 0 {
		t.Errorf("a bulge measures as a dip of %.2f", v)
	}
}
