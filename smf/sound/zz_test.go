package sound

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

type zz struct {
	name string
	num  int
	bpm  float64
	sp   *spectra
}

func load(t *testing.T) []zz {
	var out []zz
	var paths []string
	add := func(name, path string, b []byte) {
		f, _ := smf.Decode(b)
		tl, _, _ := f.Timeline()
		if len(tl.Tempi()) > 1 {
			return
		}
		m := tl.MetreIn(1)
		out = append(out, zz{name, m.Num, 6e7 / float64(tl.TempoAt(0)) * float64(m.Den) / 4, nil})
		paths = append(paths, path)
	}
	for _, m := range oracle.MarkedSongs(t) {
		add(m.Name, m.Path, m.Bytes)
	}
	for _, f := range oracle.Songs(t) {
		add(f.Name, f.Path, f.Bytes)
	}
	var missing []int
	for i := range out {
		b, err := os.ReadFile("/tmp/structx/" + out[i].name + ".sp")
		if err != nil {
			missing = append(missing, i)
			continue
		}
		sp := &spectra{}
		r := bytes.NewReader(b)
		var head [3]float64
		binary.Read(r, binary.LittleEndian, &head)
		sp.rate, sp.every, sp.seconds = int(head[0]), head[1], head[2]
		sp.moments = make([]moment, r.Len()/binary.Size(zzm{}))
		m := make([]zzm, len(sp.moments))
		binary.Read(r, binary.LittleEndian, m)
		for k, x := range m {
			sp.moments[k] = moment{x.P, x.F, x.T}
		}
		out[i].sp = sp
	}
	var p2 []string
	for _, i := range missing {
		p2 = append(p2, paths[i])
	}
	if len(p2) > 0 {
		oracle.Play(t, p2, func(k int, wav io.Reader) error {
			s, err := open(wav)
			if err != nil {
				return err
			}
			sp, err := spectraOf(s)
			if err != nil {
				return err
			}
			i := missing[k]
			out[i].sp = sp
			var w bytes.Buffer
			binary.Write(&w, binary.LittleEndian, [3]float64{float64(sp.rate), sp.every, sp.seconds})
			for _, m := range sp.moments {
				binary.Write(&w, binary.LittleEndian, zzm{m.power, m.flux, m.tilt})
			}
			return os.WriteFile("/tmp/structx/"+out[i].name+".sp", w.Bytes(), 0o666)
		})
	}
	return out
}

type zzm struct {
	P, F [Bands]float32
	T    float32
}

func TestZZTempo(t *testing.T) {
	n, ok := 0, 0
	for _, z := range load(t) {
		g, sure, err := z.sp.grid(Options{BeatsPerBar: z.num})
		if err != nil {
			t.Fatal(err)
		}
		bpm := 60 / g.beat
		n++
		right := bpm/z.bpm < 1.001 && bpm/z.bpm > .999
		if right {
			ok++
		}
		fmt.Printf("%-26s %d %7.2f heard %7.2f (%.2f) %v %s\n", z.name, z.num, z.bpm, bpm, sure, right, zzfold(z.sp, g))
	}
	fmt.Println(ok, "of", n)
}

func zzfold(sp *spectra, g grid) string {
	var s [4]float64
	var k [4]float64
	i := 0
	begin, _ := sp.begin()
	first := sp.phase(g.beat, begin)
	for at := first; at < sp.seconds; at += g.beat {
		f := over(sp.between(at-0.03, at+0.06)).flux
		s[i%4] += f[LowMid] + f[Mid]
		k[i%4] += f[Low]
		i++
	}
	t := s[0] + s[1] + s[2] + s[3]
	u := max(k[0]+k[1]+k[2]+k[3], 1e-9)
	return fmt.Sprintf("snare %.2f %.2f %.2f %.2f kick %.2f %.2f %.2f %.2f", s[0]/t, s[1]/t, s[2]/t, s[3]/t, k[0]/u, k[1]/u, k[2]/u, k[3]/u)
}
