package segment

import (
	"context"
	"testing"

	"secondcut/geometry"
)

// A card that was not read is taken neither for cloth nor for surface, and said.
func TestUnreadCardIsNoCloth(t *testing.T) {
	d := newDrawing(480, 360, wood, 6, 4)
	d.cloth(box(200, 80, 420, 300), all(bgr{150, 150, 90}))
	d.card(20, 20)
	d.unreadCard(60, 200)
	regions, findings, err := Cloth(context.Background(), d.pl, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(regions) != 1 || d.overlap(regions) < 0.97 {
		t.Errorf("%d pieces, overlap %.3f", len(regions), d.overlap(regions))
	}
	said := 0
	for _, f := range findings {
		if f.Code == "unread-card" {
			said++
			if off := f.Where.Dist(geometry.Point{X: 100, Y: 240}); off > 3 {
				t.Errorf("the card is said to lie %.0f mm from where it does", off)
			}
		}
	}
	if said != 1 {
		t.Errorf("%d unread cards said, want 1", said)
	}
}

// What is white but no card: without print, too large, or so often that it is the
// floor's pattern.
func TestWhatIsNoStrayCard(t *testing.T) {
	white := bgr{235, 235, 235}
	for _, c := range []struct {
		name string
		want int
		draw func(d *drawing)
	}{
		{"an unread card", 1, func(d *drawing) { d.unreadCard(200, 150) }},
		{"a white pocket", 0, func(d *drawing) { d.cloth(box(200, 150, 280, 230), all(white)) }},
		{"a large printed piece", 0, func(d *drawing) {
			d.cloth(box(180, 120, 330, 270), all(white))
			d.cloth(box(220, 160, 280, 220), all(bgr{25, 25, 25}))
		}},
		{"a white strip beside a black one", 0, func(d *drawing) {
			d.cloth(box(200, 150, 280, 190), all(white))
			d.cloth(box(150, 190, 330, 240), all(bgr{25, 25, 25}))
		}},
		{"tiles with black squares", 0, func(d *drawing) {
			for _, x := range []float64{140, 240, 340} {
				d.unreadCard(x, 20)
				d.unreadCard(x, 240)
			}
		}},
	} {
		d := newDrawing(480, 360, wood, 0, 4)
		d.card(20, 20)
		c.draw(d)
		if got := len(newScene(d.pl, newLabTables()).strayCards()); got != c.want {
			t.Errorf("%s: %d cards, want %d", c.name, got, c.want)
		}
	}
}

// The hull of a turned rectangle has its sides.
func TestExtentOfATurnedCard(t *testing.T) {
	s := &scene{width: 100, height: 100}
	ring := geometry.Polyline{{X: 20, Y: 40}, {X: 60, Y: 10}, {X: 72, Y: 26}, {X: 32, Y: 56}} // 50 x 20
	var list []int32
	for i := range int32(100 * 100) {
		if ring.Contains(geometry.Point{X: float64(i % 100), Y: float64(i / 100)}) {
			list = append(list, i)
		}
	}
	hull := s.hull(list)
	if hull.Area() <= 0 || hull.Area() > 1000 || hull.Area() < 900 {
		t.Errorf("area of the hull %.0f, want a little under 1000", hull.Area())
	}
	if long, short := extent(hull); long < 48 || long > 52.5 || short < 18.5 || short > 22 {
		t.Errorf("sides %.1f and %.1f, want 50 and 20", long, short)
	}
}
