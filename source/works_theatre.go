package source

// Where the rules of labels and of the list come from.
var (
	GS1Syntax  = register("gs1-syntax", "GS1 Barcode Syntax Dictionary: application identifiers, their formats and which of them have a predefined length", "read")
	GS1General = register("gs1-general", "GS1 General Specifications: check digit, two-digit years, day 00, symbology identifiers", "quoted in documentation of libraries; prefixes in part from memory")
	UDIFormats = register("udi-formats", "Unique device identifier formats by issuing agency, version 1.3, 2017", "example read in the document; prefixes in part from memory")
)
