// Package glance shows a set-up at a glance: what is known of it now, the plane of
// colours, the swatches, and what is said of one clip.
//
// Now, Plane and Swatches each answer for one set-up as of a moment. A Summarizer reads
// several set-ups, so that a colour log can say of each clip what was set, meant and there.
// All of them put together what setup, deviation, cameras and lighting say, and choose no
// reading, white or card themselves. What cannot be computed says why in its place. Package
// picture draws what glance shows.
package glance
