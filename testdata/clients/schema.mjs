// Holds JSON documents against a JSON Schema (draft 2020-12) with ajv: the schema is the first argument, each
// other one a document. A line out is "ok", or what is wrong with it first.
import { readFileSync } from "node:fs";
import Ajv2020 from "ajv/dist/2020.js";

const read = (file) => JSON.parse(readFileSync(file, "utf8"));
const [schema, ...documents] = process.argv.slice(2);
const validate = new Ajv2020({ strict: true, validateFormats: false }).compile(read(schema));
for (const file of documents) {
  const [first] = validate(read(file)) ? [] : validate.errors;
  console.log(first ? `${first.instancePath || "/"}: ${first.message}` : "ok");
}
