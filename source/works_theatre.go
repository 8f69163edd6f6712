package source

// Where the rules of labels and of the list come from.
var (
	GS1Syntax  = register("gs1-syntax", "GS1 Barcode Syntax Dictionary: application identifiers, their formats and which of them have a predefined length", "read")
	GS1General = register("gs1-general", "GS1 General Specifications: check digit, two-digit years, day 00, symbology identifiers", "quoted in documentation of libraries; prefixes in part from memory")
	UDIFormats = register("udi-formats", "Unique device identifier formats by issuing agency, version 1.3, 2017", "example read in the document; prefixes in part from memory")
	LensInHand = register("lens-in-hand", "The box against the signed plan, read by two people; published causes of wrong lenses (Kelly SP, Jalil A. Eye 2011, doi 10.1038/eye.2011.22; Steeples LR et al. Eye 2016, doi 10.1038/eye.2016.87)", "abstracts read; the rules are our own")
)
