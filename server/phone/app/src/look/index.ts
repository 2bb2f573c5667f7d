// What screens are put together from: plain values in, events and calls out, no data.
export * from "./camera-card";
export * from "./element";
export * from "./frame";
export * from "./icon";
export * from "./pad";
export * from "./rows";
export * from "./ruler";
export * from "./stepper";
export * from "./undo";
export * from "./verdict";
