package source

// Standards of exchange.
var (
	DicomOphthalmic = register("dicom-ophthalmic", "DICOM PS3.3 C.8.25 (ophthalmic refractive, axial and lens calculation modules), PS3.5, PS3.6, edition 2024e", "through our notes on the standard's dictionary and pages")
)
