// Answers the questions of colorimetry/colorjs_test.go with colorjs.io: one JSON
// array a line in, [kind, numbers…], and one array of numbers a line out.
import { readFileSync } from "node:fs";
import deltaE2000 from "colorjs.io/src/deltaE/deltaE2000.js";
import { adapt } from "colorjs.io/src/CATs.js";
import { uv, xy } from "colorjs.io/src/chromaticity.js";
import { M as BT709 } from "colorjs.io/src/spaces/srgb-linear.js";
import { M as BT2020 } from "colorjs.io/src/spaces/rec2020-linear.js";
import { M as P3 } from "colorjs.io/src/spaces/p3-linear.js";
import { M as ACES1 } from "colorjs.io/src/spaces/acescg.js";
import { spaces } from "colorjs.io/fn";

const times = (m, v) => m.map(row => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]);
const white = (x, y) => [x / y, 1, (1 - x - y) / y];
const lab = coords => ({ space: spaces.Lab, coords, alpha: 1 });
const xyz = coords => ({ space: spaces.XYZ_D65, coords, alpha: 1 });
const adapted = method => (X, Y, Z, x1, y1, x2, y2) => times(adapt(white(x1, y1), white(x2, y2), method), [X, Y, Z]);
// A grey of L* 50 in a picture, which is given with Y = 1.
const grey = (x, z) => lab(spaces.Lab_D65.fromBase([x, 1, z].map(v => v * (66 / 116) ** 3)));
const first = (space, v) => [space.toBase([v, v, v])[0]];

const answers = {
	deltaE2000: (...v) => [deltaE2000(lab(v.slice(0, 3)), lab(v.slice(3)))],
	lab: (...v) => spaces.Lab_D65.fromBase(v),
	greyDifference: (x1, z1, x2, z2) => [deltaE2000(grey(x1, z1), grey(x2, z2))],
	uvPrime: (...v) => uv(xyz(v)),
	xy: (...v) => xy(xyz(v)),
	CAT16: adapted("CAT16"),
	CAT02: adapted("CAT02"),
	Bradford: adapted("Bradford"),
	BT709: (...v) => times(BT709.toXYZ, v),
	BT2020: (...v) => times(BT2020.toXYZ, v),
	P3: (...v) => times(P3.toXYZ, v),
	ACES1: (...v) => times(ACES1.toXYZ, v),
	sRGB: v => first(spaces.sRGB, v),
	// Both are scaled there to a white of 203 cd/m² and of 0.75: taken back here.
	PQ: v => [first(spaces.REC_2100_PQ, v)[0] * 203 / 10000],
	HLG: v => [first(spaces.REC_2100_HLG, v)[0] / 3.7743],
};

for (const line of readFileSync(0, "utf8").trimEnd().split("\n")) {
	const [kind, ...numbers] = JSON.parse(line);
	console.log(JSON.stringify(answers[kind](...numbers)));
}
