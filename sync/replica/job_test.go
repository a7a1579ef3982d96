package replica

import (
	"testing"

	"pgregory.net/rapid"

	"tacet/jobs"
)

// The sum is one of 256-bit numbers, modulo 2^256 (arithmetic).
func TestPlus(t *testing.T) {
	var one, all, high jobs.Hash
	one[31] = 1
	high[23] = 1 // 2^64
	for i := range all {
		all[i] = 0xff
	}
	var low jobs.Hash
	for i := 24; i < 32; i++ {
		low[i] = 0xff
	}
	for _, c := range []struct{ a, b, sum jobs.Hash }{
		{jobs.Hash{}, one, one},
		{low, one, high},
		{all, one, jobs.Hash{}},
	} {
		if got := plus(c.a, c.b); got != c.sum {
			t.Errorf("%x + %x = %x, not %x", c.a, c.b, got, c.sum)
		}
	}
	if plus(one, one) == (jobs.Hash{}) {
		t.Error("two equal hashes cancel")
	}
}

func TestMinusUndoesPlus(t *testing.T) {
	hash := rapid.Custom(func(t *rapid.T) jobs.Hash {
		return jobs.Hash(rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "hash"))
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := hash.Draw(t, "a"), hash.Draw(t, "b"), hash.Draw(t, "c")
		if plus(plus(a, b), c) != plus(plus(c, a), b) {
			t.Fatal("the order matters")
		}
		if minus(plus(a, b), b) != a {
			t.Fatal("minus does not undo plus")
		}
	})
}

// What is signed as one thing does not pass as another, and a change of any field is found.
func TestSignatures(t *testing.T) {
	key, other := testKey(1), testKey(2)
	s := Seal{Co: "c", Dev: "d", Job: "j", Seq: 3, H: jobs.Hash{1}, Run: 9}
	if err := s.Sign(key); err != nil {
		t.Fatal(err)
	}
	if !s.Verify(public(key)) || s.Verify(public(other)) || s.Verify(nil) {
		t.Error("a seal is not verified by its key alone")
	}
	for name, change := range map[string]func(*Seal){
		"co": func(s *Seal) { s.Co = "x" }, "dev": func(s *Seal) { s.Dev = "x" }, "job": func(s *Seal) { s.Job = "x" },
		"seq": func(s *Seal) { s.Seq++ }, "h": func(s *Seal) { s.H[0]++ }, "run": func(s *Seal) { s.Run++ }, "sig": func(s *Seal) { s.Sig = s.Sig[:10] },
	} {
		c := s
		c.Sig = append([]byte(nil), s.Sig...)
		change(&c)
		if c.Verify(public(key)) {
			t.Errorf("a seal with another %s is verified", name)
		}
	}
	r := Receipt{Co: "c", Epoch: "e", N: 7, Dev: "d", Job: "j", Seq: 3, H: jobs.Hash{1}, At: 5}
	if err := r.Sign(key); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*Receipt){
		"co": func(r *Receipt) { r.Co = "x" }, "epoch": func(r *Receipt) { r.Epoch = "x" }, "n": func(r *Receipt) { r.N++ },
		"dev": func(r *Receipt) { r.Dev = "x" }, "job": func(r *Receipt) { r.Job = "x" }, "seq": func(r *Receipt) { r.Seq++ },
		"h": func(r *Receipt) { r.H[0]++ }, "at": func(r *Receipt) { r.At++ },
	} {
		c := r
		change(&c)
		if c.Verify(public(key)) {
			t.Errorf("a receipt with another %s is verified", name)
		}
	}
	if !r.Verify(public(key)) || !r.covers(s) {
		t.Error("the receipt is not one for the seal")
	}
	d := DeviceKey{Dev: "d", Key: public(key)}
	if err := d.Sign("c", key); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*DeviceKey){
		"device": func(d *DeviceKey) { d.Dev = "x" }, "key": func(d *DeviceKey) { d.Key = append([]byte{1}, d.Key[1:]...) }, "word": func(d *DeviceKey) { d.Sig = nil },
	} {
		other := d
		change(&other)
		if other.Verify("c", public(key)) {
			t.Errorf("the word on a device with another %s is verified", name)
		}
	}
	if !d.Verify("c", public(key)) || d.Verify("x", public(key)) {
		t.Error("the word on a device's key is not one for the company")
	}
	c := Cursor{Epoch: "e", N: 4, Head: jobs.Hash{2}}
	if err := c.Sign("c", key); err != nil {
		t.Fatal(err)
	}
	if !c.Verify("c", public(key)) || c.Verify("other company", public(key)) {
		t.Error("a cursor is not one of its company alone")
	}
}
