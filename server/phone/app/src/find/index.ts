// Clips found by name, timecode, camera, day, scene, take, or by what is off with them: by the engine's lists, else by the server.
export { CannotAsk, Finder } from "./find";
export { asked, deviationKinds, type ClipList, type ClipQuery, type ListedClip } from "./query";
