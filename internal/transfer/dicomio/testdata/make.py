"""Makes the frozen samples with pydicom (Debian python3-pydicom 2.3.1); all
people and values are invented.  Run: /usr/bin/python3 make.py  in this folder.
The lower-case suffix -implicit is the same file in implicit VR."""
from pydicom.dataset import Dataset, FileMetaDataset, FileDataset
from pydicom.sequence import Sequence
from pydicom.uid import ExplicitVRLittleEndian, ImplicitVRLittleEndian

BASE = "1.2.840.10008.5.1.4.1.1."

def code(scheme, value, meaning):
    d = Dataset()
    d.CodeValue, d.CodingSchemeDesignator, d.CodeMeaning = value, scheme, meaning
    return Sequence([d])

def item(**kw):
    d = Dataset()
    for k, v in kw.items():
        setattr(d, k, v)
    return d

def seq(*items):
    return Sequence(list(items))

def base(cls, n, modality, side):
    d = Dataset()
    d.SpecificCharacterSet = "ISO_IR 192"
    d.SOPClassUID = BASE + cls
    d.SOPInstanceUID = "2.25.2026112500%d" % n
    d.StudyDate, d.StudyTime, d.AccessionNumber = "20261120", "101500", ""
    d.ContentDate, d.ContentTime = "20261120", "101500"
    d.Modality, d.Manufacturer, d.ReferringPhysicianName = modality, "Demo Instruments", ""
    d.ManufacturerModelName, d.DeviceSerialNumber, d.SoftwareVersions = "Demo One", "SN7", "1.0"
    d.PatientName, d.PatientID, d.PatientBirthDate, d.PatientSex = "Thapa^Maya^é", "H-0412", "19540301", "F"
    d.StudyInstanceUID, d.SeriesInstanceUID = "2.25.20261125900", "2.25.2026112590%d" % n
    d.StudyID, d.SeriesNumber, d.InstanceNumber = "1", 1, 1
    if side:
        d.MeasurementLaterality = side
    block = d.private_block(0x0033, "DEMO PRIVATE", create=True)
    block.add_new(0x01, "LO", "kept")
    return d

def save(name, d):
    for suffix, syntax, implicit in (("", ExplicitVRLittleEndian, False), ("-implicit", ImplicitVRLittleEndian, True)):
        m = FileMetaDataset()
        m.MediaStorageSOPClassUID, m.MediaStorageSOPInstanceUID = d.SOPClassUID, d.SOPInstanceUID
        m.TransferSyntaxUID, m.ImplementationClassUID = syntax, "2.25.1"
        f = FileDataset(name, d, file_meta=m, preamble=b"\0" * 128)
        f.is_implicit_VR, f.is_little_endian = implicit, True
        f.save_as(name + suffix + ".dcm", write_like_original=False)

def keratometry():
    d = base("78.3", 3, "KER", "R")
    d.KeratometryRightEyeSequence = seq(item(
        SteepKeratometricAxisSequence=seq(item(RadiusOfCurvature=7.60, KeratometricPower=44.41, KeratometricAxis=92.0)),
        FlatKeratometricAxisSequence=seq(item(RadiusOfCurvature=7.80, KeratometricPower=43.27, KeratometricAxis=2.0))))
    return d

def quality(value):
    d = item(ConceptNameCodeSequence=code("DCM", "111787", "Signal to Noise Ratio"), NumericValue=value)
    d.MeasurementUnitsCodeSequence = code("UCUM", "1", "no units")
    return seq(d)

def axial_eye(al, acd, lt, cct):
    def total(v):
        return item(OphthalmicAxialLengthMeasurementsType="TOTAL LENGTH",
                    OphthalmicAxialLengthMeasurementsTotalLengthSequence=seq(item(OphthalmicAxialLength=v, OphthalmicAxialLengthMeasurementModified="NO")))
    def segment(v, *name):
        return item(OphthalmicAxialLengthMeasurementsSegmentNameCodeSequence=code(*name), OphthalmicAxialLength=v)
    selected = item(
        SelectedTotalOphthalmicAxialLengthSequence=seq(item(OphthalmicAxialLength=al, OphthalmicAxialLengthQualityMetricSequence=quality("45.2"))),
        SelectedSegmentalOphthalmicAxialLengthSequence=seq(
            segment(acd, "SCT", "31636006", "Anterior Chamber"), segment(lt, "DCM", "111778", "Single or Anterior Lens"), segment(cct, "SCT", "28726007", "Cornea")))
    d = item(LensStatusCodeSequence=code("SCT", "247049005", "Crystalline lens"),
             VitreousStatusCodeSequence=code("SCT", "372242005", "Vitreous only"), PupilDilated="NO")
    d.OphthalmicAxialLengthMeasurementsSequence = seq(total(al - 0.01), total(al + 0.01))
    d.OpticalSelectedOphthalmicAxialLengthSequence = seq(selected)
    return d

def axial():
    d = base("78.7", 7, "OAM", "B")
    d.OphthalmicAxialMeasurementsDeviceType = "OPTICAL"
    d.AnteriorChamberDepthDefinitionCodeSequence = code("DCM", "111776", "Front Of Cornea To Front Of Lens")
    d.OphthalmicAxialMeasurementsRightEyeSequence = seq(axial_eye(23.45, 3.12, 4.53, 0.54))
    d.OphthalmicAxialMeasurementsLeftEyeSequence = seq(axial_eye(23.51, 3.15, 4.50, 0.54))
    return d

def lenses():
    d = base("78.8", 8, "IOL", "R")
    constant = item(ConceptNameCodeSequence=code("SCT", "397263007", "A-constant"), NumericValue="118.7")
    manual = code("DCM", "113857", "Manual Entry")
    d.IntraocularLensCalculationsRightEyeSequence = seq(item(
        TargetRefraction=-0.25, RefractiveProcedureOccurred="NO", KeratometerIndex=1.3375,
        SteepKeratometricAxisSequence=seq(item(RadiusOfCurvature=7.60, KeratometricPower=44.41, KeratometricAxis=92.0)),
        FlatKeratometricAxisSequence=seq(item(RadiusOfCurvature=7.80, KeratometricPower=43.27, KeratometricAxis=2.0)),
        KeratometryMeasurementTypeCodeSequence=code("DCM", "111754", "Auto Keratometry"),
        LensThicknessSequence=seq(item(LensThickness=4.53, SourceOfLensThicknessDataCodeSequence=manual)),
        AnteriorChamberDepthSequence=seq(item(AnteriorChamberDepth=3.12, SourceOfAnteriorChamberDepthDataCodeSequence=manual)),
        OphthalmicAxialLengthSequence=seq(item(OphthalmicAxialLength=23.45, SourceOfOphthalmicAxialLengthCodeSequence=manual, OphthalmicAxialLengthSelectionMethodCodeSequence=code("DCM", "121410", "User chosen value"))),
        RefractiveStateSequence=seq(),
        IOLFormulaCodeSequence=code("DCM", "111767", "SRK/T"), IOLManufacturer="Demo Lenses", ImplantName="Demo A", ImplantPartNumber="D1", IOLPowerForExactTargetRefraction=21.2,
        LensConstantSequence=seq(constant), IOLPowerForExactEmmetropia=20.85,
        IOLPowerSequence=seq(item(IOLPower=21.0, PredictedRefractiveError=-0.11, PreSelectedForImplantation="NO"),
                             item(IOLPower=21.5, PredictedRefractiveError=-0.46, PreSelectedForImplantation="YES"))))
    return d

def refraction():
    d = base("78.2", 2, "AR", "L")
    d.AutorefractionLeftEyeSequence = seq(item(SpherePower=-0.50, CylinderSequence=seq(item(CylinderPower=-0.75, CylinderAxis=92.0))))
    return d

def acuity():
    d = base("78.5", 5, "VA", "R")
    d.ViewingDistanceType = "DISTANCE"
    d.VisualAcuityTypeCodeSequence = code("SCT", "419775003", "Best Corrected Visual Acuity")
    d.BackgroundColor, d.Optotype, d.OptotypePresentation = "WHITE", "LETTERS", "MULTIPLE"
    d.ReferencedRefractiveMeasurementsSequence = Sequence([])
    d.OptotypeDetailedDefinition = "Latin letters"
    d.VisualAcuityRightEyeSequence = seq(item(DecimalVisualAcuity=0.5, VisualAcuityModifiers=[1, 0]))
    return d

def report():
    d = base("104.1", 1, "DOC", "")
    d.AcquisitionDateTime, d.ConversionType, d.BurnedInAnnotation = "", "WSD", "YES"
    d.ConceptNameCodeSequence, d.DocumentTitle = seq(), "Demo report"
    d.MIMETypeOfEncapsulatedDocument = "application/pdf"
    pdf = b"%PDF-1.4\n%%EOF"
    d.EncapsulatedDocument, d.EncapsulatedDocumentLength = pdf + b"\0" * (len(pdf) % 2), len(pdf)
    return d

for f in (keratometry, axial, lenses, refraction, acuity, report):
    save(f.__name__, f())
