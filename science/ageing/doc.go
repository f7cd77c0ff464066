// Package ageing knows what happens to the sulfur dioxide of a finished wine: how
// an addition binds, what oxygen a vessel, a racking or a bottling lets in, and
// what that costs in free SO2.
//
// Everything uncertain is a [bayes.Prior] with its source and standing; the belief
// about one parcel (internal/track/ageing) starts from these and is narrowed by the
// cellar's own readings.
//
//	barrel := ageing.Ingress(ageing.Barrel, 225)
//	barrel.Quantile(0.5)                       // 18 mg O2 per litre and year
//	ageing.MonthlyLoss(18, ageing.PerOxygen.At(0), 1) // about 3.9 mg/L free SO2 a month
//
// The balance, with F free and B bound SO2, P added but not yet bound, O oxygen
// taken up but not yet used, all per litre:
//
//	dP/dt = −P/τ                                 binding of an addition
//	dO/dt = −O/τo                                use of oxygen from an event
//	d     = r·(ingress·Q10^((T−15)/10) + O/τo)   demand
//	dF/dt = −P/τ − d·(1 − exp(−F/k))/(1 − exp(−25/k))
//	dB/dt = +P/τ − (1 + ρ)·d − dF/dt|loss          the rest of what oxygen takes
//
// The factor with F stands for weak adducts that let go as free SO2 runs low. What a
// wine loses without oxygen, and what lees take, is in the spread of the priors.
package ageing
