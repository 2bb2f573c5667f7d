import "./look/look.css";
import "./place/first";
import "./place/now";
import "./shell";
import { day } from "./day";

void day.start();
