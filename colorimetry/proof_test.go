package colorimetry

// What an exported function is checked against.
const (
	published   = "a source prints the value"
	practice    = "common practice, no source"
	ours        = "defined by us: what to expect follows by hand"
	independent = "an independent implementation"
)

// proof is what an exported function rests on.
type proof struct {
	// basis is one of the above. check is the test that compares, and file the check
	// file that it reads, if it has one.
	basis, check, file string
	// why says why no source is there that prints the value; empty where one is.
	why string
	// property is the test that tries a law on many inputs.
	property string
}

// proofs has a row for every exported function and method: TestEveryExportedFunctionIsProved
// asks for it.
var proofs = map[string]proof{
	// quantity.go and chromaticity.go
	"Kelvin.Mired":     {published, "TestMiredOfPublishedExamples", "mired-examples.json", "", "TestMiredAndKelvinUndoEachOther"},
	"Mired.Kelvin":     {published, "TestMiredOfPublishedExamples", "mired-examples.json", "", "TestMiredAndKelvinUndoEachOther"},
	"XYZ.XY":           {published, "TestCoordinatesOfTheIlluminants", "cie15-coordinates.json", "", "TestChromaticityRoundTrips"},
	"XYZ.UVPrime":      {published, "TestCoordinatesOfTheIlluminants", "cie15-coordinates.json", "", "TestRandomColoursAgreeWithAnIndependentLibrary"},
	"XY.UV":            {published, "TestCCTAndDuvOfTheWorkedExample", "ohno2014.json", "", "TestChromaticityRoundTrips"},
	"XY.UVPrime":       {published, "TestChromaticityOfTheDisplayWhite", "cie15-d65.json", "", "TestChromaticityRoundTrips"},
	"XY.XYZ":           {published, "TestBradfordGivesThePublishedMatrix", "bradford.json", "", "TestChromaticityRoundTrips"},
	"XY.Check":         {ours, "TestChromaticitiesOutsideThePlaneAreRefused", "", "the plane of lights is a domain", "TestChromaticityRoundTrips"},
	"UV.XY":            {published, "TestCCTAndDuvOfTheWorkedExample", "ohno2014.json", "", "TestChromaticityRoundTrips"},
	"UV.UVPrime":       {published, "TestCoordinatesOf1960And1976", "cie15-uv.json", "", "TestChromaticityRoundTrips"},
	"UVPrime.UV":       {published, "TestCoordinatesOf1960And1976", "cie15-uv.json", "", "TestChromaticityRoundTrips"},
	"UVPrime.XY":       {published, "TestCoordinatesOfTheIlluminants", "cie15-coordinates.json", "", "TestChromaticityRoundTrips"},
	"UVPrime.Distance": {published, "TestStepsAreThoseOfThePublishedCircle", "cie-tn001.json", "", "TestPicturesDifferAlikeBothWays"},

	// locus.go and temperature.go
	"Planckian":    {published, "TestThePlanckianLocusIsThePublishedOne", "robertson1968.json", "", "TestHotterBlackBodiesHaveSmallerU"},
	"DaylightXY":   {published, "TestTheDaylightLocusPassesTheIlluminants", "cie15-illuminants.json", "", "TestDaylightLocusAndSpectrumAgree"},
	"Nominal":      {published, "TestNominalWhitesAreThePublishedOnes", "cie15-illuminants.json", "", "TestBlendJoinsBlackBodyAndDaylight"},
	"XY.CCTDuv":    {published, "TestCCTAndDuvOfTheNominalCentres", "ansi-c78-377.json", "", "TestCCTIsThatOfTheNearestPoint"},
	"CCTDuv.XY":    {published, "TestCCTAndDuvOfTheWorkedExample", "ohno2014.json", "", "TestCCTDuvRoundTrip"},
	"CCTDuv.Check": {ours, "TestColoursWithoutCCTAreRefused", "", "a domain; its 0.05 is that of CIE 15", "TestTheDefinitionSaysWhichChromaticitiesHaveACCT"},
	"CCTDuv.Mired": {published, "TestMiredsOfThePublishedLocus", "robertson1968.json", "", "TestCCTDuvRoundTrip"},

	// spectrum.go, spectrumfile/ and quality.go
	"NewSpectrum":          {ours, "TestSpectraAreRefusedThatHaveNoColour", "", "what a measured spectrum must cover is a domain", "TestAnUnevenGridGivesTheSameColour"},
	"Spectrum.Wavelengths": {ours, "TestASpectrumKeepsItsOwnNumbers", "", "gives back what was put in", "TestAScaledSpectrumHasTheSameColour"},
	"Spectrum.Values":      {ours, "TestASpectrumKeepsItsOwnNumbers", "", "gives back what was put in", "TestAScaledSpectrumHasTheSameColour"},
	"Spectrum.At":          {published, "TestAtDrawsTheLinesOfThePublishedD65", "cie15-d65-lines.json", "", "TestAnUnevenGridGivesTheSameColour"},
	"Spectrum.XYZ":         {published, "TestTheIlluminantsForTheTenDegreeObserver", "cie15-ten-degrees.json", "", "TestEveryRealSpectrumAgreesWithAnIndependentProgram"},
	"Spectrum.XY":          {published, "TestSpectraOfTheStandardIlluminants", "cie15-illuminants.json", "", "TestAScaledSpectrumHasTheSameColour"},
	"PlanckianSpectrum":    {published, "TestPlanckianSpectrumIsThePublishedIlluminantA", "cie15-illuminant-a.json", "", "TestPlanckianSpectrumLiesOnTheLocus"},
	"DaylightSpectrum":     {published, "TestSpectraOfTheStandardIlluminants", "cie15-illuminants.json", "", "TestDaylightLocusAndSpectrumAgree"},
	"Parse":                {independent, "TestThePublicExampleOfTM27", "", "the standards of the forms cost money; an example of TM-27 in a public repository, and a file that another program brings (TestSpectraOfAnotherProgramAreRead)", "TestASpectrumComesBackFromEveryForm"},
	"SSI":                  {independent, "TestSSIOfAnIndependentImplementation", "", "the standard was not at hand", "TestSSIOfALightAgainstItselfIs100"},
	"SSIUnrounded":         {ours, "TestSSIOfASpectrumThatStartsAt380", "", "the index before it is rounded", "TestSSIIsAtMost100"},
	"Spectrum.Extended":    {ours, "TestSSIOfASpectrumThatStartsAt380", "", "what SSI assumes of a spectrum's beginning", "TestSSIIsAtMost100"},

	// adaptation.go, difference.go and rendering.go
	"Adaptation.Adapt": {published, "TestBradfordGivesThePublishedMatrix", "bradford.json", "", "TestAdaptationTakesWhiteToWhiteAndBackAgain"},
	"Picture":          {independent, "TestPictureAgreesWithAnIndependentProgram", "colorjs-adaptation.json", "the adaptation is published, its use for a picture is ours", "TestPictureOfTheWhiteItselfIsNeutral"},
	"PictureSteps":     {published, "TestStepsAreThoseOfThePublishedCircle", "cie-tn001.json", "", "TestPicturesDifferAlikeBothWays"},
	"StepsFromNeutral": {published, "TestStepsAreThoseOfThePublishedCircle", "cie-tn001.json", "", "TestPicturesDifferAlikeBothWays"},
	"GreyDifference":   {independent, "TestRandomColoursAgreeWithAnIndependentLibrary", "", "the grey that differences are stated on is ours; L*a*b* and ΔE00 beneath it are checked in difference_test.go", "TestPicturesDifferAlikeBothWays"},
	"Preview":          {published, "TestPreviewOfNeutralIsTheStandardsCode", "", "", "TestPreviewKeepsTheLuminanceWhenItClips"},

	// cast.go, mixing.go and meter.go
	"CastOf":            {ours, "TestSigns", "", "the signs are ours; the mireds by hand", "TestDifferencesTurnWithTheOrder"},
	"PictureDifference": {ours, "TestSigns", "", "the signs are ours; the mireds by hand", "TestDifferencesTurnWithTheOrder"},
	"Aim":               {ours, "TestSigns", "", "the signs are ours; the kelvin by hand", "TestAimUndoesTheCast"},
	"Mix":               {published, "TestMixOfPublishedPrimariesIsTheirWhite", "mixed-primaries.json", "", "TestMixDoesNotDependOnOrderOrGrouping"},
	"CCReadout.Duv":     {practice, "TestSigns", "", "what meters show", "FuzzNumbers"},

	// filter.go and lamp.go
	"Stack":           {practice, "TestMiredsOfAStackAddBehindEachOther", "", "gels add by mireds", "TestStackDoesNotDependOnOrder"},
	"Gel.Pull":        {ours, "TestGelsThatUndoEachOtherOppose", "", "signs, and a part of a quarter by our choice", "TestOptionsAreAsGoodAsTryingEveryRig"},
	"Pull.Opposes":    {ours, "TestGelsThatUndoEachOtherOppose", "", "signs", "TestOptionsAreAsGoodAsTryingEveryRig"},
	"Through":         {practice, "TestGelsTakeTungstenToDaylightAndBack", "gels.json", "what gels are named after", "TestMiredsOfAStackAddBehindEachOther"},
	"NominalGels":     {practice, "TestGelsTakeTungstenToDaylightAndBack", "gels.json", "what gels are named after", "TestNominalGelsFallFromFullToEighth"},
	"CCToDuv":         {ours, "TestCCToDuvIsTheIdealFilterOnABlackBody", "", "a model of ours", "TestGreenRaisesDuvAndMagentaLowersIt"},
	"DuvToCC":         {ours, "TestFiltersRefuseWhatTheyCannotSay", "", "the inverse of CCToDuv", "TestDuvToCCUndoesCCToDuv"},
	"MeasuredGel":     {published, "TestLossIsCountedInStops", "neutral-density.json", "", "TestMeasuredGelIsTheGelThatWasOn"},
	"Lamp.Check":      {ours, "TestLampRefusesWhatItCannotDo", "", "what a lamp can be is a domain", "FuzzPlanIsAPlanOrAnError"},
	"DialPoints":      {ours, "TestDialPointsAreThinnedToWhatTheyCanCarry", "", "which readings make a dial's curve is ours", "TestALampMovesAsItsPointsDid"},
	"Compromise":      {ours, "TestCompromiseOfTungstenAndDaylight", "", "least squares by hand", "TestNoWhiteNearTheCompromiseLeavesLess"},
	"DialPoint.Error": {ours, "TestALampMovesAsItsPointsDid", "", "a difference of mireds", "TestALampMovesAsItsPointsDid"},

	// camera.go and camera_nearest.go
	"Dials.Check":        {ours, "TestDialsRefuseTheImpossible", "", "what dials can be is a domain", "TestEverySettingOnTheDialsHasAWhiteOrSaysWhy"},
	"Dials.Has":          {ours, "TestHasNamesWhatIsAllowed", "", "what is on the dials", "TestEverySettingOnTheDialsHasAWhiteOrSaysWhy"},
	"Dials.White":        {ours, "TestWhiteOfASetting", "", "a label and its tint, by hand", "TestTintTowardsMagentaRaisesDuvWhicheverWayIsPlus"},
	"Dials.Whites":       {ours, "TestNearestOnEveryKindOfBody", "", "Dials.White for all settings", "TestWhitesAtHandChangeNoAnswer"},
	"Dials.Nearest":      {ours, "TestNearestOnEveryKindOfBody", "", "a search of ours", "TestNearestIsAsGoodAsTryingEverySetting"},
	"KelvinDial.Nearest": {ours, "TestTheNearestValueOnADial", "", "a least distance in mired", "TestNoValueOnTheDialIsNearer"},
	"Whites.Nearest":     {ours, "TestNearestOnEveryKindOfBody", "", "Dials.Nearest with the whites at hand", "TestWhitesAtHandChangeNoAnswer"},

	// transfer.go, sample.go and correction.go
	"Transfer.String":       {ours, "TestEveryNameIsItsOwn", "", "a name", "TestEveryNameIsItsOwn"},
	"Encoding.Check":        {ours, "TestTransferRefusesWhatIsOffTheCurve", "", "a domain", "FuzzDecodeIsANumberOrAnError"},
	"Encoding.Decode":       {published, "TestDecodeAtThePublishedPoints", "transfer.json", "", "TestEncodeUndoesDecodeAndBothRise"},
	"Encoding.Encode":       {published, "TestEncodeAtTheNominalSignalLevels", "bt2408.json", "", "TestEncodeUndoesDecodeAndBothRise"},
	"Encoding.Linear":       {published, "TestChromaticityOfSignalsIsThatOfThePrimaries", "", "", "TestCorrectionLandsOnTheTargetAtTheSameLuminance"},
	"Encoding.Chromaticity": {published, "TestChromaticityOfSignalsIsThatOfThePrimaries", "", "", "TestPatchGivesBackTheWhiteOfTheCamera"},
	"Encoding.Correct":      {published, "TestCorrectionToNeutralEvensTheChannels", "", "", "TestCorrectionLandsOnTheTargetAtTheSameLuminance"},
	"CodeRange.Signal":      {published, "TestSignalOfCodeValues", "code-range.json", "", "TestCodeValuesRiseEvenlyAndComeBack"},
	"CodeRange.Code":        {published, "TestSignalOfCodeValues", "code-range.json", "", "TestCodeValuesRiseEvenlyAndComeBack"},
	"CodeRange.Step":        {published, "TestStepsBetweenBlackAndWhite", "code-step.json", "", "TestCodeValuesRiseEvenlyAndComeBack"},
	"NewPatchPixels":        {published, "TestPatchHasTheCertifiedMeanAndDeviation", "nist-michelson.json", "", "TestPatchOfNoisyPixelsGivesBackTheWhiteWithinItsSpread"},
	"PatchPixels.Add":       {published, "TestPatchHasTheCertifiedMeanAndDeviation", "nist-michelson.json", "", "TestPatchOfNoisyPixelsGivesBackTheWhiteWithinItsSpread"},
	"PatchPixels.Read":      {published, "TestPatchHasTheCertifiedMeanAndDeviation", "nist-michelson.json", "", "TestPatchOfNoisyPixelsGivesBackTheWhiteWithinItsSpread"},
	"ReadPatch":             {independent, "TestGreyCardsOfAnIndependentLibrary", "colorjs-grey-card.json", "the camera's white from a card is ours", "TestPatchGivesBackTheWhiteOfTheCamera"},
	"EffectiveWhite":        {independent, "TestCorrespondingColoursOfAnIndependentImplementation", "corresponding-colours.json", "the adaptation is published, its way back is ours", "TestPatchGivesBackTheWhiteOfTheCamera"},
	"LightFrom":             {independent, "TestCorrespondingColoursOfAnIndependentImplementation", "corresponding-colours.json", "the adaptation is published, its way back is ours", "TestPatchGivesBackTheWhiteOfTheCamera"},
	"CameraError":           {ours, "TestReadPatchSaysHowTheLightLooks", "", "a difference", "TestDifferencesTurnWithTheOrder"},
	"PatchSpread":           {published, "TestPatchHasTheCertifiedMeanAndDeviation", "nist-michelson.json", "", "TestASpreadIsNeverFinerThanHalfACode"},
	"TypedSpread":           {ours, "TestUncertaintyCoversWhatRoundingToCodesDoes", "", "half a step by definition", "TestASpreadIsNeverFinerThanHalfACode"},
	"TintUnit":              {ours, "TestTintUnitIsLearntFromTwoSamples", "", "a quotient of two differences", "TestTintUnitIsLearntFromTwoSamples"},

	// plan.go and drift.go
	"Task.Options":  {ours, "TestPlanRefusesWhatIsNoTask", "", "a search of ours", "TestOptionsAreAsGoodAsTryingEveryRig"},
	"Plans":         {ours, "TestPlansAreTheBestOfEveryCombination", "", "a search of ours", "TestPlansAreTheBestOfEveryCombination"},
	"DriftOf":       {published, "TestDriftOfTheWorkedExample", "sen1968.json", "", "TestDriftTurnsWithTheReadings"},
	"Trend.At":      {ours, "TestDriftForecastsNoFurtherThanItSaw", "", "a straight line, by hand", "TestForecastsFollowTheLine"},
	"Trend.Certain": {published, "TestDriftOfTheWorkedExample", "sen1968.json", "", "TestForecastsFollowTheLine"},
	"Trend.Horizon": {ours, "TestDriftForecastsNoFurtherThanItSaw", "", "as far ahead as was observed", "TestForecastsFollowTheLine"},
}
