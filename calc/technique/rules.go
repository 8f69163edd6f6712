package technique

import "linn/source"

var hardNucleus = either(is("cataract", "brunescent"), atLeast("nucleus_locs", nucleusHard), atLeast("nucleus_emery", emeryHard))

// Gates ask for something before surgery: treat first, refer, or a surgeon
// with experience.
var Gates = []Rule{
	gate("infection-first", blocks, custom, has("lid_or_sac_infection")),
	gate("benefit-uncertain", blocks, ref(source.OxfordHandbook, source.Secondary, "no view in diabetes: ultrasound"),
		either(lacks("light_perception"), all(either(lacks("projection_accurate"), has("afferent_defect"), lacks("fundus_view")), either(lacks("bscan_done"), unanswered("bscan_done"))))),
	gate("uveitis-first", blocks, custom, either(is("uveitis", "active"), all(is("uveitis", "quiet"), either(under("uveitis_quiet_months", quietMonths), unanswered("uveitis_quiet_months"))))),
	gate("pressure-first", blocks, ref(source.Stewart2023, source.Read, "raised pressure, odds ratio 3.7 for suprachoroidal haemorrhage; the limit is ours"), over("iop_mmhg", pressureHigh)),
	gate("pressure-raised", warns, ref(source.Stewart2023, source.Read, "raised pressure, odds ratio 3.7 for suprachoroidal haemorrhage; the limit is ours"), all(over("iop_mmhg", pressureRaised), not(over("iop_mmhg", pressureHigh)))),
	gate("retina-first", blocks, ref(source.OxfordHandbook, source.Secondary, ""), either(has("macular_oedema"), is("retinopathy", "proliferative"), has("iris_new_vessels"))),
	gate("zonule-lost", blocks, ref(source.ManualText, source.Read, "society teaching page"), either(over("zonular_loss_deg", zonuleMost), has("lens_moves_with_gravity"), has("vitreous_in_chamber"))),
	gate("zonule-grey", warns, ref(source.MaLi2014, source.Read, "entry below 150°"), all(atLeast("zonular_loss_deg", zonuleGrey), not(over("zonular_loss_deg", zonuleMost)))),
	gate("zonule-weak", warns, ref(source.MaLi2014, source.Read, "series"), either(all(over("zonular_loss_deg", 0), under("zonular_loss_deg", zonuleGrey)), has("phacodonesis"), has("exfoliation"))),
	gate("cornea-failing", blocks, custom, either(under("endothelium_cells_mm2", countFails), has("corneal_oedema"), all(has("guttae"), over("corneal_thickness_um", thickGuttate)))),
	gate("count-low", warns, ref(source.LowCount2011, source.Read, "9 of 61 (14.8 %)"), all(atLeast("endothelium_cells_mm2", countFails), under("endothelium_cells_mm2", countLow))),
	gate("count-middle", tells, ref(source.Chen2021, source.Read, "loss 28.9 % at 1000–2000; another series found none"), all(atLeast("endothelium_cells_mm2", countLow), under("endothelium_cells_mm2", countMiddle))),
	gate("count-unknown-at-risk", warns, ours, all(unanswered("endothelium_cells_mm2"), either(has("guttae"), has("angle_closure_past"), has("iridotomy"), has("eye_surgery_past"), has("eye_trauma_past"), has("fellow_decompensated")))),
	gate("most-experienced", warns, ref(source.DroppedIndia, source.Read, "posterior polar, odds ratio 21.7 for a dropped nucleus"),
		either(has("only_eye"), is("cataract", "posterior-polar"), has("vitrectomy_past"), has("graft"), has("fellow_complicated"), under("axial_length_mm", lengthShort), over("axial_length_mm", lengthLong))),
	gate("position", warns, ref(source.Narendran2009, source.Secondary, "unable to lie flat, odds ratio 1.27"), either(lacks("lies_flat"), lacks("cooperates"), has("tremor"))),
	gate("blood-pressure", blocks, ref(source.PressureSurvey, source.Read, "custom: 60 % of 304 gave 180/100 mmHg"), either(atLeast("systolic_mmhg", systolicHigh), atLeast("diastolic_mmhg", diastolicHigh), has("unstable_heart_or_lungs"))),
	gate("glucose", tells, ref(source.GlucoseAlert, source.Read, "no published limit"), has("glucose_above_local_limit")),
	gate("floppy-iris", tells, ref(source.FloppyIris2022, source.Read, "tamsulosin, relative risk 13.85"), is("alpha_blocker", "tamsulosin", "doxazosin", "other")),
}

// Leans speak for one technique. They are listed and never added up.
var Leans = []Rule{
	lean("lean-hard-nucleus", TowardManual, 3, ref(source.ManualText, source.Memory, "longer ultrasound, cell loss, burn"), hardNucleus),
	lean("lean-white", TowardNeither, 2, ref(source.Venkatesh2010, source.Read, "manual surgery faster, cornea clearer on day 1; equal vision"), is("cataract", "white")),
	lean("lean-hypermature", TowardManual, 2, ref(source.ManualText, source.Read, "tolerates a can-opener capsulotomy"), either(is("cataract", "hypermature"), is("lens_glaucoma", "phacolytic", "phacomorphic"))),
	lean("lean-easy-eye", TowardPhaco, 2, ref(source.Zhang2013, source.Read, "unaided vision, induced astigmatism"), all(under("nucleus_locs", nucleusModerate), has("cornea_clear"), atLeast("pupil_dilated_mm", pupilWide))),
	lean("lean-place", TowardManual, 3, ours, either(lacks("phaco_available"), lacks("power_reliable"), lacks("spare_handpiece"), has("consumables_short"))),
	lean("lean-operator", TowardManual, 2, ref(source.Haripriya2012, source.Read, "trainees 4.8 % in phaco, 1.46 % in manual surgery; another centre found the opposite"), lacks("operator_phaco_independent")),
	lean("lean-hazy-cornea", TowardManual, 2, custom, has("corneal_opacity")),
	lean("lean-spare-conjunctiva", TowardPhaco, 2, custom, either(has("bleb"), has("glaucoma_surgery_planned"), has("thin_sclera"), has("bleeding_tendency"))),
	lean("lean-astigmatism", TowardNeither, 1, ref(source.Zhang2013, source.Read, "induced astigmatism"), is("astigmatism", "against-the-rule", "with-the-rule", "oblique")),
	lean("lean-low-count", TowardNeither, 1, ref(source.Gogate2010, source.Read, "equal loss in a trial"), all(under("endothelium_cells_mm2", countLow), not(hardNucleus))),
	lean("lean-low-count-hard", TowardManual, 2, custom, all(under("endothelium_cells_mm2", countLow), hardNucleus)),
	lean("lean-small-pupil", TowardNeither, 2, custom, under("pupil_dilated_mm", pupilSmall)),
	lean("lean-shallow", TowardNeither, 2, ref(source.Muhtaseb2004, source.Read, "table 1"), under("acd_mm", chamberShallow)),
	lean("lean-no-tunnel", TowardECCE, 2, custom, lacks("tunnel_possible")),
	lean("lean-graft", TowardNeither, 3, ref(source.LowCount2011, source.Read, "eyes with grafts"), has("graft")),
}

// Notes tell what is to be kept in mind.
var Notes = []Rule{
	note("note-arcus", custom, has("arcus")),
	note("note-thin-periphery", custom, has("peripheral_thinning")),
	note("note-diabetes", ref(source.DiabeticOedema, source.Read, "oedema that needs treatment, by retinopathy"), has("diabetes")),
}

// Paths are ways of their own.
var Paths = []Rule{
	path("path-lens-glaucoma", warns, ref(source.ManualText, source.Memory, "pressure first, surgery as soon as it allows"), is("lens_glaucoma", "phacolytic", "phacomorphic", "particle")),
	path("path-child", warns, custom, under("age_years", adult)),
}

// AnaesthesiaRules speak for and against methods of anaesthesia.
var AnaesthesiaRules = []Rule{
	speaksAgainst("needle-length-unknown", 3, ours, unanswered("axial_length_mm"), Peribulbar),
	speaksAgainst("needle-long", 3, ref(source.EdgeNavon1999, source.Read, "all 7 perforations in staphyloma; the limit is ours"), either(atLeast("axial_length_mm", needleBarred), has("staphyloma")), Peribulbar),
	speaksAgainst("needle-doubt", 2, ours, all(atLeast("axial_length_mm", needleDoubt), under("axial_length_mm", needleBarred)), Peribulbar),
	speaksAgainst("needle-staphyloma-unknown", 2, ref(source.EdgeNavon1999, source.Read, "1 in 760 staphylomatous eyes"), unanswered("staphyloma"), Peribulbar),
	speaksAgainst("needle-antiplatelets", 3, ref(source.Makuloluwa2019, source.Read, "abstract"), is("anticoagulant", "dual-antiplatelet"), Peribulbar),
	speaksAgainst("needle-inr-out", 3, ref(source.Makuloluwa2019, source.Read, "abstract"), all(is("anticoagulant", "warfarin"), lacks("inr_within_local_range")), Peribulbar),
	speaksAgainst("needle-inr-unknown", 3, ref(source.Makuloluwa2019, source.Read, "abstract"), all(is("anticoagulant", "warfarin"), unanswered("inr_within_local_range")), Peribulbar),
	speaksAgainst("needle-direct", 2, ref(source.EyeAnaesthesia, source.Read, "sharp needle: warfarin 4.8 %, direct 3.1 %; evidence thin"), is("anticoagulant", "direct"), Peribulbar),
	speaksAgainst("topical-unsuited", 2, custom, either(lacks("cooperates"), lacks("follows_instructions"), has("nystagmus"), has("tremor"), has("photophobia"), has("iris_work_expected"), under("pupil_dilated_mm", pupilSmall), lacks("operator_experienced")), Topical, TopicalChamber),
	speaksAgainst("topical-not-for-manual", 2, custom, is("planned_technique", "msics", "ecce"), Topical, TopicalChamber),
	suits("topical-suits", custom, all(has("cooperates"), has("follows_instructions"), lacks("nystagmus"), lacks("tremor"), is("planned_technique", "phaco"), atLeast("pupil_dilated_mm", pupilSmall)), Topical, TopicalChamber),
	suits("sub-tenon-suits", ref(source.EyeAnaesthesia, source.Read, "serious complications 2.5 times as frequent with a sharp needle"), either(is("planned_technique", "msics", "ecce"), lacks("follows_instructions"), atLeast("axial_length_mm", needleBarred), has("staphyloma"), is("anticoagulant", "aspirin", "antiplatelet", "dual-antiplatelet", "warfarin", "direct")), SubTenon),
	suits("general-suits", custom, either(under("age_years", adult), all(lacks("cooperates"), lacks("lies_flat")), all(lacks("cooperates"), has("tremor"))), GeneralAnaesthesia),
	suits("antithrombotic-continue", ref(source.Makuloluwa2019, source.Read, "continue for topical and sub-Tenon"), is("anticoagulant", "aspirin", "antiplatelet", "dual-antiplatelet", "warfarin", "direct"), Topical, SubTenon),
}
