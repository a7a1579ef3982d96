package acoustics

import (
	"math"
	"math/cmplx"
)

// verifiers names what the rows of published/*.csv may calculate.
var verifiers = map[string]func(Arguments) Arguments{
	"airborne": func(a Arguments) Arguments {
		r, err := RateAirborne(CurveFrom(int(a.one("from")), a["values"]...))
		return rated(r, err)
	},
	"impact": func(a Arguments) Arguments {
		r, err := RateImpact(CurveFrom(int(a.one("from")), a["values"]...))
		return rated(r, err)
	},
	"airborne_octaves": func(a Arguments) Arguments { return rated(RateAirborneOctaves([5]float64(a["values"])), nil) },
	"impact_octaves":   func(a Arguments) Arguments { return rated(RateImpactOctaves([5]float64(a["values"])), nil) },
	"adapted_level": func(a Arguments) Arguments {
		sum := func(spectrum []float64) float64 {
			passed := make([]float64, len(spectrum))
			for i, l := range spectrum {
				passed[i] = l - a["values"][i]
			}
			return -energySum(passed)
		}
		return Arguments{"c_50_5000": {sum(spectrumC5000)}, "ctr_50_5000": {sum(spectrumCtrWide)}}
	},
	"spectrum_sum": func(Arguments) Arguments {
		return Arguments{
			"c": {energySum(spectrumC)}, "ctr": {energySum(spectrumCtr)}, "c50": {energySum(spectrumC50)},
			"c5000": {energySum(spectrumC5000)}, "ctr5000": {energySum(spectrumCtrWide)}, "octave_c": {energySum(octaveC)},
		}
	},
	"sigma": each("f", "sigma", func(a Arguments, f float64) float64 {
		return RadiationEfficiency(f, a.one("fc"), a.one("l1"), a.one("l2"), a.air())
	}),
	"sigma_forced": each("f", "sigma", func(a Arguments, f float64) float64 {
		return ForcedRadiationEfficiency(f, a.one("l1"), a.one("l2"), a.air())
	}),
	"situ_loss": each("f", "eta", func(a Arguments, f float64) float64 {
		return homogeneousOf(a).SituLoss(a.one("eta"), f, a.one("edges"), a.air())
	}),
	"situ_r": each("f", "r", func(a Arguments, f float64) float64 {
		h := homogeneousOf(a)
		return decibels(h.Transmission(f, h.SituLoss(a.one("eta"), f, a.one("edges"), a.air()), inBand(h.Critical, f), a.air()))
	}),
	"above_critical": each("f", "r", func(a Arguments, f float64) float64 {
		h := Homogeneous{Mass: a.one("m"), Critical: a.one("fc"), L1: a.one("l1"), L2: a.one("l2")}
		return decibels(h.Transmission(f, a.one("eta"), false, a.air()))
	}),
	"effective_critical": each("f", "fc", func(a Arguments, f float64) float64 {
		return Homogeneous{Critical: a.one("fc"), WaveSpeed: a.one("cl"), Thickness: a.one("h")}.EffectiveCritical(f)
	}),
	"built_in_loss": each("f", "eta", func(a Arguments, f float64) float64 { return BuiltInLoss(a.one("eta"), a.one("m"), f) }),
	"polymer": func(a Arguments) Arguments {
		p := Polymers()[int(a.one("row"))-1]
		g, eta := p.Shear(a.one("f"), a.one("celsius"))
		return Arguments{"e": {3 * g * math.Hypot(1, eta) / 1e6}, "eta": {eta}}
	},
	"bonded": func(a Arguments) Arguments {
		e := a.one("e")
		b := newPlate([]ply{{mass: 1, h: a.one("h1"), e: e}, {mass: 1, h: a.one("h2"), e: e}}).b
		return Arguments{"b": {b}, "thick": {BendingStiffness(e, a.one("h1")+a.one("h2"), 0)}}
	},
	"limp": each("f", "r", func(a Arguments, f float64) float64 {
		air := a.air()
		x := air.Density * air.SoundSpeed / (math.Pi * f * a.one("m"))
		return decibels(x * x * 2 * ForcedRadiationEfficiency(f, a.one("l1"), a.one("l2"), air))
	}),
	"sandwich": func(a Arguments) Arguments {
		e := a.one("e") / (1 - a.one("nu")*a.one("nu"))
		s := Sandwich{
			E1: complex(e, 0), E3: complex(e, 0), H1: a.one("h1"), H2: a.one("h2"), H3: a.one("h3"),
			G2: complex(a.one("g"), a.one("g")*a.one("eta2")), Mass: a.one("rho")*(a.one("h1")+a.one("h3")) + a.one("rho2")*a.one("h2"),
		}
		s.E2 = s.G2 * complex(a.one("e2g"), 0)
		out := Arguments{}
		for _, f := range a["f"] {
			b := s.Bending(f)
			out["b"] = append(out["b"], real(b))
			out["eta"] = append(out["eta"], imag(b)/real(b))
		}
		return out
	},
	"slit": each("f", "r", func(a Arguments, f float64) float64 {
		return decibels(SlitTransmission(f, a.one("w"), a.one("d"), a.or("edge", 0) == 1))
	}),
	"slit_plane": each("f", "tau", func(a Arguments, f float64) float64 {
		return slitTransmission(f, a.one("w"), a.one("d"), 4, 1)
	}),
	"bridge": each("f", "r", func(a Arguments, f float64) float64 {
		b := Bridge{Spacing: a.or("b", 0), PerM2: a.or("n", 0), Compliance: a.or("cm", 0), softening: a.or("softening", 0)}
		leaf := BridgedLeaf{Mass: a.one("m"), Critical: a.one("fc")}
		other := BridgedLeaf{Mass: a.or("m2", leaf.Mass), Critical: a.or("fc2", leaf.Critical)}
		return decibels(b.Transmission(f, leaf, other))
	}),
	"mass_rule": func(a Arguments) Arguments { return Arguments{"rw": {MassRule(a.one("m"))}} },
	"composite": func(a Arguments) Arguments {
		var parts []Part
		for i, s := range a["s"] {
			parts = append(parts, Part{AreaM2: s, R: CurveFrom(500, a["r"][i])})
		}
		c, err := Composite(parts...)
		if err != nil {
			return nil
		}
		r, _ := c.At(500)
		return Arguments{"r": {r}}
	},
	"measured_uncertainty": func(Arguments) Arguments {
		out := Arguments{}
		for quantity := range measuredUncertainty {
			for _, s := range []Situation{BetweenLaboratories, SamePlace, Repeated} {
				if u, ok := MeasuredUncertainty(quantity, s); ok {
					out[quantity] = append(out[quantity], u)
				}
			}
		}
		return out
	},
	"measured_bands": each("f", "u", func(a Arguments, f float64) float64 {
		u, _ := MeasuredBandUncertainty(int(f), Situation(a.one("situation")))
		return u
	}),
	"lining_resonance": func(a Arguments) Arguments {
		return Arguments{"f0": {LiningResonance(a.one("d"), a.one("m1"), a.one("m2"))}}
	},
	"lining_improvement": each("f0", "delta", func(a Arguments, f float64) float64 { return LiningImprovement(f, a.one("rw")) }),
	"floating": each("f", "delta", func(a Arguments, f float64) float64 {
		return FloatingImprovement(f, FloatingResonance(a.one("s"), a.one("m")), a.or("dry", 0) == 1)
	}),
	"floating_weighted": func(a Arguments) Arguments {
		return Arguments{"f0": {FloatingResonance(a.one("s"), a.one("m"))}, "delta": {WeightedFloating(a.one("m"), a.one("s"), a.or("dry", 0) == 1)}}
	},
	"equivalent_impact": func(a Arguments) Arguments { return Arguments{"ln": {EquivalentImpactLevel(a.one("m"))}} },
	"slab_impact": each("f", "ln", func(a Arguments, f float64) float64 {
		h := homogeneousOf(a)
		eta := h.SituLoss(a.one("eta"), f, a.one("edges"), a.air())
		return SlabImpact(f, h.Mass, RadiationEfficiency(f, h.Critical, h.L1, h.L2, a.air()), eta)
	}),
	"slab_and_reduction": each("f", "sum", func(a Arguments, f float64) float64 {
		h := homogeneousOf(a)
		eta := h.SituLoss(a.one("eta"), f, a.one("edges"), a.air())
		return SlabImpact(f, h.Mass, RadiationEfficiency(f, h.Critical, h.L1, h.L2, a.air()), eta) +
			decibels(h.Transmission(f, eta, false, a.air())) - 30*math.Log10(f)
	}),
	"impact_flanking": each("floor", "k", func(a Arguments, m float64) float64 { return ImpactFlanking(m, a.one("mean")) }),
	"cross":           junction(RigidCross),
	"t":               junction(RigidT),
	"corner":          junction(Corner),
	"thickness":       junction(ThicknessChange),
	"facade":          junction(LightFacade),
	"double_leaf":     junction(LightDouble),
	"level_difference": func(a Arguments) Arguments {
		return Arguments{"dv": {JunctionLevelDifference(a.one("k"), a.one("l"), a.one("ai"), a.one("aj"))}}
	},
	"site": func(a Arguments) Arguments {
		in := RoomInput{ReceivingVolumeM3: new(a.one("v"))}
		if len(a["rw"]) > 0 {
			in.RwDB, in.SeparatingAreaM2 = new(a.one("rw")), new(a.one("s"))
			for i := range a["rij"] {
				in.Flanking = append(in.Flanking, FlankingPath{RijWDB: &a["rij"][i]})
			}
		} else {
			in.LnwDB, in.FlankingKDB = new(a.one("lnw")), new(a.one("k"))
		}
		r, err := in.Site()
		if err != nil {
			return nil
		}
		if r.LnTwDB != nil {
			return Arguments{"ln": {*r.LPrimeNwDB}, "lnt": {*r.LnTwDB}}
		}
		return Arguments{"rprime": {*r.RPrimeWDB}, "dnt": {*r.DnTwDB}}
	},
	"field": func(a Arguments) Arguments {
		received, limited := CorrectBackground(a.one("level"), a.one("background"))
		flag := 0.0
		if limited {
			flag = 1
		}
		return Arguments{"level": {received}, "limited": {flag}}
	},
	"corners": func(a Arguments) Arguments {
		return Arguments{"level": {LowFrequencyLevel(a.one("level"), a.one("corner"))}}
	},
	"mean_level": func(a Arguments) Arguments { return Arguments{"level": {MeanLevel(a["values"]...)}} },
	"decay":      func(a Arguments) Arguments { return Arguments{"t": {DecayTime(a.one("f"), a.one("eta"))}} },
	"wrap": func(a Arguments) Arguments {
		return Arguments{"eta": {WrapLoss(a.one("member"), a.one("loss"), a.one("wrap"), a.one("wrap_loss"), a.one("share"))}}
	},
	"flanking_path": func(a Arguments) Arguments {
		p := FlankingPath{RiWDB: new(a.one("ri")), RjWDB: new(a.one("rj")), KijDB: new(a.one("k")), LengthM: new(a.one("l"))}
		return Arguments{"r": {p.RijW(a.one("s"))}}
	},
	"impact_paths": func(a Arguments) Arguments { return Arguments{"sum": {energySum(a["paths"])}} },
	"probability": func(a Arguments) Arguments {
		return Arguments{"p": {ProbabilityMeets(a.one("x"), a.one("target"), a.one("u"), false)}}
	},
	"mass_law":     each("f", "r", func(a Arguments, f float64) float64 { return MassLaw(f, a.one("m")) }),
	"optimum_loss": func(a Arguments) Arguments { return Arguments{"eta": {OptimumLoss(a.one("eta2"), a.one("y"))}} },
	"least_k": func(a Arguments) Arguments {
		return Arguments{"k": {LeastVibrationReduction(a.one("l"), a.one("si"), a.one("sj"))}}
	},
	"interlayer":  each("f", "gain", func(_ Arguments, f float64) float64 { return InterlayerGain(f) }),
	"two_linings": func(a Arguments) Arguments { return Arguments{"delta": {TwoLinings(a.one("a"), a.one("b"))}} },
	"band_path": func(a Arguments) Arguments {
		return Arguments{"r": {BandPath(a.one("ri"), a.one("rj"), a.or("delta", 0), a.one("dv"), a.one("ss"), a.one("si"), a.one("sj"))}}
	},
	"absorption_length": each("f", "a", func(a Arguments, f float64) float64 { return AbsorptionLength(f, a.one("s"), a.one("t")) }),
	"miki":              porous(Miki),
	"delany_bazley":     porous(DelanyBazley),
	"critical_product": func(a Arguments) Arguments {
		rho, cl, nu := a.one("rho"), a.one("cl"), a.one("nu")
		e := cl * cl * rho * (1 - nu*nu)
		const h = 0.01
		return Arguments{
			"hfc": {h * CriticalFrequency(rho*h, BendingStiffness(e, h, nu))},
			"e":   {e / 1e9},
			"cl":  {PlateWaveSpeed(e, rho, nu)},
		}
	},
	"resonance": func(a Arguments) Arguments {
		return Arguments{
			"adiabatic":  {MassSpringMass(rho0*c0*c0/a.one("d"), a.one("m1"), a.one("m2"))},
			"isothermal": {MassSpringMass(p0/a.one("d"), a.one("m1"), a.one("m2"))},
		}
	},
}

func rated(r Rating, err error) Arguments {
	if err != nil {
		return nil
	}
	out := Arguments{
		"value": {float64(r.Value)}, "one_decimal": {r.OneDecimal}, "sum": {r.UnfavourableSum},
		"c": {float64(r.C)}, "ctr": {float64(r.Ctr)}, "ci": {float64(r.CI)},
	}
	for k, v := range r.Enlarged {
		out[k] = []float64{float64(v)}
	}
	return out
}

func junction(j Junction) func(Arguments) Arguments {
	return func(a Arguments) Arguments {
		k13, k12 := j.VibrationReduction(a.one("perp")/a.one("m"), a.or("f", 500))
		return Arguments{"k13": {k13}, "k12": {k12}}
	}
}

// each calculates one value for each number of a list.
func each(over, key string, value func(Arguments, float64) float64) func(Arguments) Arguments {
	return func(a Arguments) Arguments {
		out := Arguments{}
		for _, v := range a[over] {
			out[key] = append(out[key], value(a, v))
		}
		return out
	}
}

func porous(model func(f, r float64) (zc, k complex128)) func(Arguments) Arguments {
	return func(a Arguments) Arguments {
		z, k := model(a.one("f"), a.one("r"))
		return Arguments{"z_re": {real(z)}, "z_im": {imag(z)}, "k_re": {real(k)}, "k_im": {imag(k)}, "k_abs": {cmplx.Abs(k)}}
	}
}

func homogeneousOf(a Arguments) Homogeneous {
	return Homogeneous{Mass: a.one("m"), Critical: a.one("fc"), WaveSpeed: a.one("cl"), Density: a.one("rho"), L1: a.one("l1"), L2: a.one("l2")}
}

// decibels turns a transmission factor τ into a reduction: -10 lg τ.
func decibels(tau float64) float64 { return -10 * math.Log10(tau) }
