// What is loaded once the first screen stands: all other places, sheets and their parts. They are
// found by their files: sheet/measure.ts defines <ew-measure>.
import.meta.glob(["./place/*.ts", "./sheet/*.ts"], { eager: true });
