import "./look/look.css";
import "./shell";
import { day } from "./day";

// Places and sheets are found by their files: place/now.ts defines <ew-now>.
import.meta.glob(["./look/*.ts", "./place/*.ts", "./sheet/*.ts"], { eager: true });

void day.start();
