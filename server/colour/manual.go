package colour

// Manual is the manual page of the command.
const Manual = `NAME
    evenwhite colour - answer a question about the colour of light

SYNOPSIS
    evenwhite colour [-json] cct [-uv | -uvprime] X Y
    evenwhite colour [-json] mired KELVIN1 KELVIN2
    evenwhite colour [-json] xy KELVIN [DUV]
    evenwhite colour [-json] mix KELVIN[,DUV]@LUX ...
    evenwhite colour [-json] aim REFERENCE MIRED[,DUV]
    evenwhite colour [-json] cast LIGHT WHITE
    evenwhite colour [-json] gel [-family 5500|6500] KELVIN[,DUV] NAME|SHIFT[,CC] ...
    evenwhite colour [-json] spectrum FILE
    evenwhite colour [-json] ssi FILE [tungsten|daylight|blackbody|FILE]

DESCRIPTION
    cct X Y
        The correlated colour temperature, Duv (+ greener, - more magenta) and
        mired of a chromaticity: x y, with -uv the u v of 1960, with -uvprime the
        u' v' of 1976. From 1000 to 100000 K and at most 0.05 in Duv away from the
        black body; a light outside is coloured and has no colour temperature.

    mired KELVIN1 KELVIN2
        The shift from a white of KELVIN1 to a light of KELVIN2: + shows warmer in
        the picture, - cooler.

    xy KELVIN [DUV]
        The chromaticity x y of a light, from 1000 to 100000 K and from -0.05 to
        0.05 in Duv.

    mix KELVIN[,DUV]@LUX ...
        What several lights make together, each with the illuminance that it gives
        alone at the place. Neither kelvin nor mired can be averaged instead.

    aim REFERENCE MIRED[,DUV]
        The white to set a camera to, so that the light REFERENCE (KELVIN or
        KELVIN,DUV) takes on a wanted colour cast: MIRED + for a warmer picture,
        - for a cooler one, DUV + for greener, - for more magenta.

    cast LIGHT WHITE
        How a light (KELVIN or KELVIN,DUV) looks in the picture of a camera with a
        white (the same): mired + warmer, Duv + greener, and the size in steps of
        0.0011 u'v' in the picture. It is compared with the limits that a production
        starts with: common practice, no source.

    gel KELVIN[,DUV] NAME|SHIFT[,CC] ...
        A light behind gels. NAME is a trade name, "half CTO" or half-cto, with the
        nominal values of its family. SHIFT is in mired (+ warmer), CC in hundredths
        of density (+ green, - magenta). Names: full, half, quarter and eighth CTO
        and CTB (of family 6500 only full), and the same four of plus green and
        minus green. Nominal values are common practice and no measurement: check
        with the meter.

    spectrum FILE
        X Y Z, x y (2 degree observer), CCT and Duv of a measured light. FILE is IES
        TM-27 XML, CGATS.17 or ISO 28178 text, CSV (wavelength in nm, value) or
        JSON ({"wavelengths": [...], "values": [...]} or pairs), of at most 50 MB,
        from 380 to 780 nm at least, in steps of 1 to 20 nm. Shown as far as four
        decimals of x y carry.

    ssi FILE [tungsten|daylight|blackbody|FILE]
        The spectral similarity index of the light in FILE, 100 for the same
        spectrum: against tungsten of 3200 K, daylight or a black body of the
        light's own CCT, or another FILE. Without a reference: a black body below
        4000 K, daylight (4000 to 25000 K) from there on. A file whose name is one
        of these words is written ./tungsten.

    KELVIN may have its unit, without a blank: 5600K. A light that is given by its
    KELVIN alone lies on the black body, where Duv is 0. Daylight lies about 0.003
    above it (greener): 5600,0.0032.

    The text shows no finer digits than the typed ones carry, each taken to be good
    to half a unit of its last digit: 0.3127 says less than 0.31270. Options may
    stand before or after the words; a word that begins with - and a digit or a
    point is a number.

OPTIONS
    -json      print one JSON object, unrounded, with the units in the names
    -uv        cct: the two numbers are u v (CIE 1960)
    -uvprime   cct: the two numbers are u' v' (CIE 1976)
    -family 5500|6500
               gel: the temperature that full CTO takes to 3200 K (default 5500)

EXIT STATUS
    0  done
    1  the values have no answer, or a file cannot be read
    2  the command line was not understood

EXAMPLES
    evenwhite colour cct 0.3127 0.3290
    evenwhite colour cct -uvprime 0.1978 0.4683
    evenwhite colour mired 3200 5600 -json
    evenwhite colour xy 5600 0.0032
    evenwhite colour mix 3200@500 5600,0.0032@320
    evenwhite colour aim 5600 -80
    evenwhite colour cast 4300,0.0080 4300
    evenwhite colour gel 3200 "full CTB" eighth-minus-green
    evenwhite colour gel 5600 +110,4
    evenwhite colour spectrum lamp.csv
    evenwhite colour -json ssi lamp.csv daylight
`
