"""Applies the first correction of an ASC CDL file to pixels with OpenColorIO.

The file is the first argument. A line in is a pixel as three numbers, a line out
is what it becomes. Nothing is clamped, since scene-linear footage goes above 1.
"""
import sys

import PyOpenColorIO as ocio

cdl = ocio.CDLTransform.CreateFromFile(sys.argv[1], "0")
cdl.setStyle(ocio.CDL_NO_CLAMP)
processor = ocio.Config.CreateRaw().getProcessor(cdl).getDefaultCPUProcessor()
for line in sys.stdin:
    print(*processor.applyRGB([float(word) for word in line.split()]))
