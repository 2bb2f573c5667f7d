"""Reads ASC CDL collections with OpenColorIO and applies a correction of one to pixels.

The file is the first argument. A line in is an id and a pixel, apart by tabs; a line out is what the
pixel becomes. Nothing is clamped. An id that is not in the file, or one that is there twice, ends it.
"""
import sys

import PyOpenColorIO as ocio

for line in sys.stdin:
    name, red, green, blue = line.rstrip("\n").split("\t")
    cdl = ocio.CDLTransform.CreateFromFile(sys.argv[1], name)
    cdl.setStyle(ocio.CDL_NO_CLAMP)
    processor = ocio.Config.CreateRaw().getProcessor(cdl).getDefaultCPUProcessor()
    print(*processor.applyRGB([float(red), float(green), float(blue)]))
