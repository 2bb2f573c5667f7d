// Written by go test ./server/phone -run Answers -update from the types of the engine's answers.
// Do not change it by hand.

export interface Edit {
  production: string; kind: string; record: string; device: string; line: string; n: number; at: string;
  offsetMs: number; by: string; act?: string; set: Record<string, unknown>; over: Record<string, string[]>;
}

export interface Accepted {
  acceptance: string;
  by: string;
  reason: string;
  scope: string;
  ceiling?: Size;
  at: string;
}

export interface Apart {
  kind: string;
  setUp?: string;
  words: string;
  choices: Choice[];
  takes?: string[];
  nextTake: boolean;
}

export interface Asked {
  edits: number;
}

export interface Bundled {
  edits: number;
  new: number;
  damaged?: string;
}

export interface CameraNow {
  camera: string;
  letter: string;
  body?: string;
  bodyLabel?: string;
  reference: boolean;
  intendedCast: IntendedCast;
  aim?: Chromaticity;
  toDial?: Dialled;
  contested?: OtherDial[];
  dial?: Dialled;
  second?: Dialled;
  problem?: string;
  caveats?: string[];
  cameraError?: CamerasError;
  dialByCards?: Dialled;
  last?: LastSetting;
}

export interface CamerasError {
  body: string;
  recordingMode?: string;
  lampFamily?: string;
  glass?: string;
  mired: number;
  duv: number;
  spreadMired: number;
  spreadDuv: number;
  samples: string[];
  awayMired: number;
  ageMinutes: number;
  confidence: string;
  words: string;
  caveats?: string[];
}

export interface CardCheck {
  sample: string;
  toSample: string;
  difference: Difference;
  deltaE00?: number;
  within: boolean;
  second: boolean;
}

export interface Choice {
  record: string;
  words: string;
  by: string;
  device: string;
  at: string;
  correctedAt: string;
}

export interface Chromaticity {
  x: number;
  y: number;
  cctKelvin?: number;
  duv?: number;
  words: string;
}

export interface Clash {
  dot: string;
  edit: Edit | null;
  held?: Edit;
  via: string;
  receivedAt: string;
}

export interface ClipCorrections {
  clip: string;
  camera: string;
  body: string;
  whiteInFootage?: string;
  encoding: string;
  basis: string;
  basisWords: string;
  spreadMired?: number;
  spreadDuv?: number;
  words: string;
  light?: Chromaticity;
  white?: Chromaticity;
  aim?: Chromaticity;
  intendedCast: IntendedCast;
  toIntent: Correction;
  toNeutral: Correction;
  cameraError?: CamerasError;
  origin: Origin;
}

export interface ClipFound {
  clip: string;
  setUp?: string;
  day?: string;
  date?: string;
  letter?: string;
  name?: string;
  timecode?: Timecode;
}

export interface ClipLine {
  clip: string;
  camera: string;
  letter: string;
  name?: string;
  card?: string;
  setting: Dialled;
  settingsAre: string;
  readOffAt?: string;
  timecode?: Timecode;
  verdict?: string;
  times?: number;
  offAim?: Difference;
}

export interface Clips {
  clips: ClipFound[];
}

export interface Compared {
  words: string;
  record?: string;
}

export interface Conflict {
  kind: string;
  record: string;
  setUp?: string;
  field: string;
  deletion: boolean;
  values: Version[];
}

export interface ConflictsPage {
  conflicts: Conflict[];
  apart: Apart[];
  counts: Count[];
  next?: string;
}

export interface Correction {
  to: string;
  takes?: string;
  problem?: string;
  cast?: Difference;
  setting?: Dialled;
  gain?: RGB;
  stops?: RGB;
  offset?: RGB;
  codeOffset?: RGB;
  ratio?: RGB;
  level?: RGB;
  leftBelow?: number;
  liftsHighlights: boolean;
}

export interface Count {
  setUp?: string;
  count: number;
}

export interface Deviation {
  kind: string;
  cause: string;
  count: number;
  headline: string;
  toDo?: string;
  words: string;
  value?: Size;
  limit?: Size;
  comparedWith?: Compared;
  subjects: string[];
  setUp?: string;
  takes?: string[];
  clips?: string[];
  cameras?: string[];
  also?: Finding[];
  accepted?: Accepted;
}

export interface DialLearnt {
  dialKelvin: number;
  learnt: Learnt;
}

export interface Dialled {
  whiteMode: string;
  kelvin?: number;
  tint?: number;
  amberBlue?: number;
  preset?: string;
  words: string;
  white?: Chromaticity;
  residual?: Difference;
  deltaE00?: number;
  why?: string;
}

export interface Difference {
  mired?: number;
  duv?: number;
  steps?: number;
  words: string;
}

export interface Drift {
  headline: string;
  words: string;
  readings: string[];
  sky?: string;
  since: string;
  until: string;
  mired: Slope;
  duv: Slope;
  stops?: Slope;
  line: LinePoint[];
  forecastUntil: string;
  leavesAt?: string;
}

export interface DriftReading {
  reading: string;
  takenAt: string;
  sky?: string;
  position?: string;
  color?: FigureShown;
  problem?: string;
  illuminanceLux?: number;
  stepsOff?: number;
  changed?: string[];
}

export interface Due {
  light: string;
  name: string;
  why: string;
}

export interface Fault {
  type: string;
  detail: string;
  errors?: FieldFault[];
}

export interface FieldFault {
  field: string;
  value: string;
  allowed: string;
}

export interface FigureShown {
  uPrime: number;
  vPrime: number;
  cctKelvin?: number;
  mired?: number;
  duv?: number;
  floorMired?: number;
  floorDuv?: number;
  words: string;
}

export interface Finding {
  kind: string;
  headline: string;
  toDo?: string;
  words: string;
  value?: Size;
  limit?: Size;
  comparedWith?: Compared;
}

export interface Findings {
  deviations: Deviation[];
  verdicts: GlanceVerdict[];
}

export interface Following {
  basis: string;
  words: string;
  cameraError?: CamerasError;
  best: Dialled;
  second?: Dialled;
  within: boolean;
  origin: Origin;
}

export interface Form {
  kind: string;
  doc: string;
  fields: Row[];
  values: Record<string, Shown>;
  tag?: string;
}

export interface GelLearnt {
  gel: string;
  name: string;
  words: string;
  printed?: GelPrinted;
  families: GelOnFamily[];
  caveats?: string[];
}

export interface GelOnFamily {
  lampFamily: string;
  learnt: Learnt;
  cc: number;
  lossStops?: number;
  words: string;
}

export interface GelPlan {
  gel: string;
  name: string;
  used: number;
  stock: number;
}

export interface GelPrinted {
  shiftMired: number;
  cc: number;
  lossStops: number;
  from: string;
}

export interface GelUse {
  gel: string;
  name: string;
  shiftMired: number;
  cc: number;
  lossStops: number;
  from: string;
}

export interface GlanceVerdict {
  record?: string;
  cause?: string;
  word: string;
  times?: number;
  minutes?: number;
}

export interface HandsetRecord {
  record: unknown;
  tag: string;
  fields: Record<string, Shown>;
  own: string[];
  sources?: Source[];
}

export interface Held {
  production: string;
  title?: string;
  held: number;
  refused: number;
  mine: number;
  unsent: number;
  rest: number;
  from?: string;
  rules: number;
  lineOver: boolean;
  new: number;
  marks: Verdict[];
  records?: unknown[];
}

export interface History {
  edits: Edit[];
  afterClosing?: string[];
}

export interface IntendedCast {
  name?: string;
  mired: number;
  duv: number;
  from: string;
}

export interface Judged {
  refused?: string;
  errors: FieldFault[];
  remarks: Remark[];
}

export interface LampLearnt {
  lamp: string;
  name: string;
  family: string;
  words: string;
  error?: Learnt;
  positions: DialLearnt[];
  movesMired?: number;
  caveats?: string[];
}

export interface LastSetting {
  clip?: string;
  settingsAre: string;
  readOffAt?: string;
  setting: Dialled;
  verdict?: string;
  offAim?: Difference;
  offAimByCards?: Difference;
  offReferenceCamera?: Difference;
  problem?: string;
}

export interface Learnt {
  mired: number;
  duv: number;
  spreadMired: number;
  spreadDuv: number;
  count: number;
  ageMinutes: number;
  readings: string[];
}

export interface LightDrift {
  light?: string;
  key: string;
  name: string;
  role?: string;
  intent?: string;
  readings: DriftReading[];
  limits?: Limits;
  ownColor?: FigureShown;
  trend?: Drift;
  noTrend?: string;
  words: string;
}

export interface LightNow {
  light: string;
  name: string;
  role: string;
  intent: string;
  on: boolean;
  reading?: string;
  takenAt?: string;
  ageMinutes?: number;
  how?: string;
  nextReading?: string;
  when?: string;
  staleBecause?: string[];
  illuminanceLux?: number;
  floorXY?: number;
  color?: Chromaticity;
  problem?: string;
  cast?: Difference;
  offOwnColor?: Difference;
  picture?: Swatch;
  limits: Limits;
  within?: boolean;
  driftSinceFirst?: Difference;
  drift?: Drift;
}

export interface LightPlan {
  light: string;
  name: string;
  role: string;
  intent: string;
  words: string;
  problem?: string;
  stays: boolean;
  reading?: string;
  read?: Chromaticity;
  target?: Chromaticity;
  dialKelvin?: number;
  dialGreenMagenta?: number;
  dialLearnt?: string;
  gels: string[];
  gelUses: GelUse[];
  expected?: Chromaticity;
  residual?: Difference;
  lossStops: number;
  reaches?: boolean;
  checkWithMeter: boolean;
  turnTowards?: string;
  limits: Limits;
  caveats?: string[];
  caution?: string;
}

export interface Limits {
  role: string;
  mired: number;
  duvGreen: number;
  duvMagenta: number;
  steps: number;
  from: string;
}

export interface LinePoint {
  at: string;
  mired: number;
  duv: number;
}

export interface List {
  deviations: Deviation[];
}

export interface Matched {
  for: string;
  setUp: string;
  camera: string;
  to: string;
  basis: string;
  words: string;
  matched: boolean;
  cards?: CardCheck;
  cameraError?: CamerasError;
  toError?: CamerasError;
  toSetting: Dialled;
  toOffAim?: Difference;
  following?: Following;
  toClip?: string;
  light?: Chromaticity;
  best: Dialled;
  second?: Dialled;
  limits: Limits;
  within: boolean;
  origin: Origin;
}

export interface MeterDifference {
  meter: string;
  name: string;
  learnt: Learnt;
  illuminance?: number;
  words: string;
}

export interface MeterLearnt {
  meter: string;
  name: string;
  floorXY: number;
  words: string;
  others: MeterDifference[];
}

export interface Mix {
  position: string;
  color?: Chromaticity;
  from?: string;
  computed?: Chromaticity;
  illuminanceLux?: number;
  problem?: string;
  check?: MixCheck;
  drift?: Drift;
}

export interface MixCheck {
  reading: string;
  takenAt: string;
  measured?: Chromaticity;
  measuredLux?: number;
  computed?: Chromaticity;
  computedLux?: number;
  difference?: Difference;
  floorMired: number;
  agrees?: boolean;
  added?: Chromaticity;
  addedLux?: number;
  problem?: string;
  words: string;
}

export interface Next {
  setUp: string;
  number: unknown;
  clips: NextClip[];
}

export interface NextClip {
  camera: string;
  letter: string;
  body?: string;
  name?: string;
  card?: string;
  fields: Source[];
}

export interface Origin {
  method: string;
  records?: string[];
  confidence: string;
  ageMinutes?: number;
  caveats?: string[];
}

export interface OtherDial {
  white: string;
  aim?: Chromaticity;
  toDial?: Dialled;
  words: string;
}

export interface PlanePoint {
  mark: string;
  key: string;
  record?: string;
  name: string;
  role?: string;
  intent?: string;
  color: FigureShown;
  off?: Difference;
  within?: boolean;
  too?: string;
  words: string;
}

export interface PlaneRing {
  about: string;
  roles: string[];
  steps: number;
  words: string;
  uv: PlaneSpot[];
}

export interface PlaneSpot {
  uPrime: number;
  vPrime: number;
}

export interface PositionPlan {
  position: string;
  now?: Chromaticity;
  nowLux?: number;
  planned?: Chromaticity;
  lux?: number;
  cast?: Difference;
  problem?: string;
}

export interface Prepared {
  production: string;
  title?: string;
  held: number;
  refused: number;
  mine: number;
  unsent: number;
  rest: number;
  from?: string;
  rules: number;
  lineOver: boolean;
  done: boolean;
}

export interface Quarantine {
  refused: Refused[];
  clashes: Clash[];
}

export interface RGB {
  r: number;
  g: number;
  b: number;
}

export interface RankedPlan {
  rank: number;
  words: string;
  lights: LightPlan[];
  gels: GelPlan[];
  positions: PositionPlan[];
  reached: number;
  toCheck: number;
  toTurn: number;
  lossStops: number;
  proven: boolean;
}

export interface ReadingColor {
  reading: string;
  measuredAs: string;
  method: string;
  color?: Chromaticity;
  problem?: string;
  xyz?: Tristimulus;
  floorXY: number;
  floorMired?: number;
  illuminanceLux?: number;
  reported?: Reported;
  similarity: Similarity[];
  caveats?: string[];
}

export interface RecordsPage {
  records: unknown[];
  next?: string;
}

export interface Refused {
  dot: string;
  edit: Edit | null;
  reason: string;
  open?: string[];
  corrected?: Edit;
  discarded?: Edit;
}

export interface Remark {
  field: string;
  value: string;
  usual: string;
  words: string;
}

export interface Reported {
  ra?: number;
  r9?: number;
  rf?: number;
  rg?: number;
  tlci?: number;
  ssi?: number;
  flickerPercent?: number;
}

export interface Rival {
  white: string;
  words: string;
  since: string;
  by: string;
  decidedBy?: string;
  decidedAt: string;
}

export interface Row {
  name: string;
  type: string;
  doc?: string;
  unit?: string;
  required?: boolean;
  fact?: boolean;
  default?: string;
  allowed: string;
  min?: string;
  max?: string;
  usualMin?: string;
  usualMax?: string;
  longest?: number;
  pattern?: string;
  choices?: string[];
  to?: string[];
  members?: Row[];
  forms?: Row[];
  item?: Row;
}

export interface SampleColor {
  sample: string;
  body?: string;
  camera?: string;
  setting: Dialled;
  recordingMode?: string;
  glass?: string;
  lampFamily?: string;
  encoding: string;
  picture?: Chromaticity;
  light?: Chromaticity;
  lightMethod: string;
  white?: Chromaticity;
  uncertainty?: Difference;
  floorMired?: number;
  error?: Difference;
  cast?: Difference;
  learnt?: CamerasError;
  toNeutral?: Correction;
  warnings?: string[];
  problem?: string;
}

export interface SetUpDrift {
  setUp: string;
  name: string;
  at: string;
  timeZone?: string;
  headline: string;
  words: string;
  lights: LightDrift[];
  whites: WhiteStep[];
  takes: TakeMark[];
}

export interface SetUpLine {
  setUp: string;
  name: string;
  scene?: string;
  day?: string;
  date?: string;
  place?: string;
  takes: number;
  last: string;
}

export interface SetUpNow {
  setUp: string;
  at: string;
  headline: string;
  white?: White;
  nextTake: number;
  reference?: Chromaticity;
  referenceOrigin: Origin;
  lights: LightNow[];
  mixes: Mix[];
  cameras: CameraNow[];
  deviations: Deviation[];
  limits: Limits[];
  cautions: string[];
}

export interface SetUpPlan {
  setUp: string;
  at: string;
  words: string;
  reference?: Chromaticity;
  referenceProblem?: string;
  lights: LightPlan[];
  gels: GelPlan[];
  positions: PositionPlan[];
  reached: number;
  toCheck: number;
  toTurn: number;
  lossStops: number;
  proven: boolean;
  alternatives: RankedPlan[];
  cautions: string[];
}

export interface SetUpPlane {
  setUp: string;
  name: string;
  at: string;
  headline: string;
  words: string;
  old?: string;
  stepUV: number;
  points: PlanePoint[];
  rings: PlaneRing[];
  unplaced: Unplaced[];
}

export interface SetUpSwatches {
  setUp: string;
  name: string;
  at: string;
  words: string;
  display: SwatchDisplay;
  neutral: Swatch;
  whites: SwatchWhite[];
  lights: SwatchLight[];
}

export interface SetUps {
  setUps: SetUpLine[];
}

export interface Shown {
  value: unknown;
  heads?: string[];
  conflict?: boolean;
  carried?: boolean;
}

export interface Similarity {
  reference: string;
  reading?: string;
  words: string;
  ssi?: number;
  note?: string;
  problem?: string;
}

export interface Size {
  mired?: number;
  duv?: number;
  steps?: number;
  minutes?: number;
}

export interface Slope {
  perHour: number;
  low: number;
  high: number;
}

export interface Source {
  field: string;
  value: unknown;
  from: string;
  at?: string;
}

export interface State {
  production: string;
  title?: string;
  held: number;
  refused: number;
  mine: number;
  unsent: number;
  rest: number;
  from?: string;
  rules: number;
  lineOver: boolean;
}

export interface StillRGB {
  as: string;
  r: number;
  g: number;
  b: number;
  bits: number;
  range: string;
  encoding: string;
  gamma?: number;
  primaries: string;
}

export interface StillReading {
  format: string;
  width: number;
  height: number;
  sample: StillSample;
  spreadOfMean: RGB;
  noise: RGB;
  unevenPercent: number;
  unevenSteps: number;
  picture: FigureShown | null;
  toNeutral: Correction;
  method: string;
  warnings?: string[];
}

export interface StillSample {
  rgb: StillRGB;
  areaPixels: number;
  spreadPercent: number;
  clippedPercent: number;
}

export interface Supposed {
  white?: White;
  lights: LightNow[];
  cameras: CameraNow[];
  verdicts: Verdicts;
}

export interface Swatch {
  r: number;
  g: number;
  b: number;
  clipped: boolean;
}

export interface SwatchCell {
  key: string;
  swatch?: Swatch;
  cast?: Difference;
  problem?: string;
}

export interface SwatchDisplay {
  name: string;
  standard: string;
  white: string;
  greyPercent: number;
  words: string;
}

export interface SwatchLight {
  light?: string;
  key: string;
  name: string;
  role?: string;
  color?: FigureShown;
  problem?: string;
  pictures: SwatchCell[];
}

export interface SwatchWhite {
  key: string;
  camera?: string;
  white?: FigureShown;
  words: string;
  problem?: string;
}

export interface TakeLine {
  setUp: string;
  take?: string;
  name: string;
  kind: string;
  state?: string;
  wanted?: boolean;
  at: string;
  clips: ClipLine[];
  off: string[];
}

export interface TakeMark {
  take: string;
  name: string;
  key: string;
  at: string;
}

export interface Taken {
  production: string;
  title?: string;
  held: number;
  refused: number;
  mine: number;
  unsent: number;
  rest: number;
  from?: string;
  rules: number;
  lineOver: boolean;
  log: string;
  new: number;
  more: boolean;
  marks: Verdict[];
}

export interface Takes {
  takes: TakeLine[];
  next?: string;
}

export interface Timecode {
  start?: string;
  end?: string;
}

export interface Tristimulus {
  x: number;
  y: number;
  z: number;
}

export interface TwinGroup {
  kind: string;
  setUp?: string;
  run: string;
  count: number;
  records: TwinRecord[];
  two?: string[][];
}

export interface TwinRecord {
  id: string;
  madeBy: string;
  madeAt: string;
  device: string;
}

export interface TwinsPage {
  twins: TwinGroup[];
  next?: string;
}

export interface Unplaced {
  record?: string;
  name: string;
  problem: string;
}

export interface Verdict {
  dot?: string;
  reason: string;
}

export interface Verdicts {
  lights: GlanceVerdict[];
  cameras: GlanceVerdict[];
  deviations: GlanceVerdict[];
  due?: Due;
}

export interface Version {
  dot: string;
  record: string;
  value: unknown;
  by: string;
  device: string;
  at: string;
  correctedAt: string;
}

export interface Waits {
  questions: number;
  twins: number;
  off: number;
}

export interface White {
  white: string;
  setUp: string;
  from: string;
  words: string;
  since: string;
  color?: Chromaticity;
  problem?: string;
  origin: Origin;
  intendedCast: IntendedCast;
  contested?: Rival[];
  contestedWords?: string;
  chooseAgain?: string;
  decidedBy?: string;
  judgedOn?: string;
  decidedAt: string;
}

export interface WhiteStep {
  white: string;
  from?: string;
  until?: string;
  color?: FigureShown;
  words: string;
  problem?: string;
}

export interface Written {
  edits: Edit[];
}
