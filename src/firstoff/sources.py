"""The bibliography: the only place where authors, titles and publishers stand.

Docstrings and data cite a key. `own` marks what was derived here, `judged` a figure without a published source.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """One entry of the bibliography: who, what, where, and how it was read."""

    key: str
    text: str
    note: str = ""


_ENTRIES = (
    Source("own", "Closed form, derived here from the named relations."),
    Source("judged", "No published figure was found; judged, and at least a factor of two wide."),
    Source("simulated", "Milling simulated here in the time domain, by other force laws and spreads than the program's: tests/measured/simulated_mill.py."),
    Source("altintas2012", "Y. Altintas, Manufacturing Automation, 2nd ed., Cambridge University Press, 2012."),
    Source("altintas1995", "Y. Altintas, E. Budak, Analytical prediction of stability lobes in milling, CIRP Annals 44 (1995) 357-362."),
    Source("insperger2004", "T. Insperger, G. Stepan, Updated semi-discretization method for periodic delay-differential equations with discrete delay, International Journal for Numerical Methods in Engineering 61 (2004) 117-141."),
    Source("altintas2008", "Y. Altintas, M. Eynian, H. Onozuka, Identification of dynamic cutting force coefficients and chatter stability with process damping, CIRP Annals 57 (2008) 371-374.", "recalled"),
    Source("cui2014", "T. Cui, J. Martin, Y. M. Marzouk, A. Solonen, A. Spantini, Likelihood-informed dimension reduction for nonlinear inverse problems, Inverse Problems 30 (2014) 114015.", "recalled"),
    Source("tyler2012", "C. T. Tyler, T. L. Schmitz, Process damping analytical stability analysis and validation, Transactions of NAMRI/SME 40 (2012).", "recalled"),
    Source("schmitz2001", "T. L. Schmitz, M. A. Davies, M. D. Kennedy, Tool point frequency response prediction for high-speed machining by RCSA, Journal of Manufacturing Science and Engineering 123 (2001) 700-707.", "recalled"),
    Source("schmitz2006", "T. L. Schmitz, B. P. Mann, Closed-form solutions for surface location error in milling, International Journal of Machine Tools and Manufacture 46 (2006) 1369-1377.", "recalled"),
    Source("friedman1993", "Z. Friedman, J. B. Kosmatka, An improved two-node Timoshenko beam finite element, Computers and Structures 47 (1993) 473-481.", "recalled"),
    Source("blevins1979", "R. D. Blevins, Formulas for Natural Frequency and Mode Shape, Van Nostrand Reinhold, 1979.", "recalled"),
    Source("chenz2020", "Z. Chen, Z. Li, J. Niu, L. Zhu, Chatter detection in milling processes using frequency-domain Renyi entropy, International Journal of Advanced Manufacturing Technology 106 (2020) 877-890.", "brackets of the critical depth of a slot"),
    Source("zhang2020", "Q. Zhang, X. Tu, F. Li, Y. Hu, An effective chatter detection method in milling process using morphological empirical wavelet transform, IEEE Transactions on Instrumentation and Measurement 69 (2020) 5546-5555.", "three slots; stiffness not printed"),
    Source("chi2014", "Y. Chi, H. Li, Determination of chatter stability field lobe diagrams for a milling processing, Journal of Vibration and Shock 33(4) (2014) 90-93.", "limits measured on a ramp; width of cut not printed"),
    Source("caliskan2018", "H. Caliskan, Z. M. Kilic, Y. Altintas, On-line energy based milling chatter detection, Journal of Manufacturing Science and Engineering 140 (2018).", "modes measured, stiffness and damping not printed"),
    Source("smith2013", "S. Smith, The science of milling sounds, Cutting Tool Engineering, February 2013."),
    Source("cao2016", "H. Cao, Y. Yue, X. Chen, X. Zhang, Chatter detection in milling process based on synchrosqueezing transform of sound signals, International Journal of Advanced Manufacturing Technology (2016), 10.1007/s00170-016-9660-7.", "modes measured; no stiffness, damping or width"),
    Source("wangc2019", "C. Wang, X. Zhang, J. Liu, H. Cao, X. Chen, Adaptive vibration reshaping based milling chatter suppression, International Journal of Machine Tools and Manufacture 141 (2019) 30-35.", "modes not printed"),
    Source("wangliang2009", "L. Wang, M. Liang, Chatter detection based on probability distribution of wavelet modulus maxima, Robotics and Computer-Integrated Manufacturing 25 (2009) 989-998.", "cutter, teeth and material not seen"),
    Source("pointsc45", "Measured points of chatter in C45, side cuts 0.6 mm wide with a cutter of about 10 mm and 3 teeth.", "the paper is not named in the set; no modes"),
    Source("points7075", "Measured points of chatter in slots of 7075-T6.", "the paper is not named in the set; no tool, no modes"),
    Source("cjme2021", "Milling force model for aviation aluminum alloy, Chinese Journal of Mechanical Engineering 34 (2021), table 5."),
    Source("klocke2011", "F. Klocke, Manufacturing Processes 1: Cutting, Springer, 2011 (Kienzle and Victor tables)."),
    Source("kops1990", "L. Kops, D. T. Vo, Determination of the equivalent diameter of an end mill, CIRP Annals 39 (1990) 93-96."),
    Source("sharma", "P. C. Sharma, A Textbook of Production Engineering, S. Chand."),
    Source("kosilova", "A. G. Kosilova, R. K. Meshcheryakov, Reference Book of the Manufacturing Engineer, vol. 2, 4th ed., 1986 (in Russian; speeds of milling, reaming and tapping).", "recalled"),
    Source("kalpakjian", "S. Kalpakjian, S. Schmid, Manufacturing Engineering and Technology."),
    Source("stephenson", "D. A. Stephenson, J. S. Agapiou, Metal Cutting Theory and Practice."),
    Source("groover", "M. P. Groover, Fundamentals of Modern Manufacturing."),
    Source("ghosh", "A. Ghosh, A. K. Mallik, Manufacturing Science."),
    Source("iso898", "ISO 898-1, Mechanical properties of fasteners made of carbon steel and alloy steel."),
    Source("iso724", "ISO 724, General-purpose metric screw threads: basic dimensions."),
    Source("iso2306", "ISO 2306, Drills for use prior to tapping screw threads."),
    Source("iso10642", "ISO 10642, Hexagon socket countersunk head screws."),
    Source("iso2936", "ISO 2936, Hexagon socket screw keys.", "recalled"),
    Source("iso4762", "ISO 4762, Hexagon socket head cap screws.", "recalled"),
    Source("iso4017", "ISO 4017, Hexagon head screws.", "recalled"),
    Source("iso6789", "ISO 6789, Hand torque tools.", "recalled"),
    Source("iso21920", "ISO 21920-2, Surface texture: profile: terms, definitions and surface texture parameters.", "recalled"),
    Source("iso286", "ISO 286-1 and ISO 286-2, Code system for tolerances on linear sizes."),
    Source("iso286cor", "ISO 286-2:1988/Cor 1:2006, corrections to tables of limit deviations."),
    Source("bearingfits", "A bearing maker's tables of shaft tolerances and resulting fits with bores of normal class."),
    Source("iso14253", "ISO 14253-1, Decision rules for verifying conformity."),
    Source("iso513", "ISO 513, Classification of hard cutting materials: application groups."),
    Source("iso3002", "ISO 3002, Basic quantities in cutting and grinding."),
    Source("vdi2230", "VDI 2230-1, Systematic calculation of highly stressed bolted joints."),
    Source("vdi3206", "VDI 3206, Specific cutting forces (after Kienzle)."),
    Source("beer", "F. P. Beer, E. R. Johnston, Vector Mechanics for Engineers: Statics."),
    Source("hibbeler", "R. C. Hibbeler, Engineering Mechanics: Statics, ch. 8, friction on wedges and screws.",
           "answers seen in a page of worked solutions"),
    Source("asmeb1", "ASME B1.1, Unified inch screw threads, appendix B (thread shear areas)."),
    Source("engin2001", "S. Engin, Y. Altintas, Mechanics and dynamics of general milling cutters, part I: helical end mills, "
           "International Journal of Machine Tools and Manufacture 41 (2001) 2195-2212.", "recalled"),
    Source("kline1982", "W. A. Kline, R. E. DeVor, I. A. Shareef, The prediction of surface accuracy in end milling, Journal of "
           "Engineering for Industry 104 (1982) 272-278.", "recalled"),
    Source("kline1983", "W. A. Kline, R. E. DeVor, The effect of runout on cutting geometry and forces in end milling, International Journal of Machine Tool Design and Research 23 (1983) 123-140."),
    Source("cheng2018", "X. Cheng, X. Zhang, Y. Tian, G. Zheng, X. Yang, Study on micro helical milling of small holes with flat end mills, Int. J. Advanced Manufacturing Technology 97 (2018) 3119-3128."),
    Source("wojciechowski2022", "S. Wojciechowski, Estimation of minimum uncut chip thickness during precision and micro-machining: a critical review, Materials 15 (2022) 59.",
           "the span of 0.2 to 0.4 of the edge radius is from memory of this literature"),
    Source("gere", "J. M. Gere, B. J. Goodno, Mechanics of Materials."),
    Source("iso965", "ISO 965-1, General-purpose metric screw threads: tolerances.", "6H/6g limits from memory; M10 agrees with a stored copy"),
    Source("tapcatalogue", "Technical section of a tap maker's catalogue: torque of tapping, two years."),
    Source("cody1969", "W. J. Cody, Rational Chebyshev approximations for the error function, "
           "Mathematics of Computation 23 (1969) 631-637."),
    Source("golub1969", "G. H. Golub, J. H. Welsch, Calculation of Gauss quadrature rules, Mathematics of Computation 23 "
           "(1969) 221-230.", "recalled"),
    Source("wichura1988", "M. J. Wichura, Algorithm AS 241: the percentage points of the normal distribution, "
           "Applied Statistics 37 (1988) 477-484."),
    Source("wilson1931", "E. B. Wilson, M. M. Hilferty, The distribution of chi-square, Proceedings of the National Academy of Sciences "
           "17 (1931) 684-688.", "recalled"),
    Source("bourdet1996", "P. Bourdet, L. Mathieu, C. Lartigue, A. Ballu, The concept of the small displacement torsor in metrology, "
           "Advanced Mathematical Tools in Metrology II, World Scientific, 1996, 110-122."),
    Source("cai1997", "W. Cai, S. J. Hu, J. X. Yuan, A variational method of robust fixture configuration design for 3-D workpieces, "
           "Journal of Manufacturing Science and Engineering 119 (1997) 593-602.", "the locating matrix, from memory of it"),
    Source("villeneuve2001", "F. Villeneuve, O. Legoff, Y. Landon, Tolerancing for manufacturing: a three-dimensional model, "
           "International Journal of Production Research 39 (2001) 1625-1648.", "the model of the manufactured part"),
    Source("owen2019", "A. B. Owen, Y. Maximov, M. Chertkov, Importance sampling the union of rare events, "
           "Electronic Journal of Statistics 13 (2019) 231-254."),
    Source("gum2008", "JCGM 100:2008, Guide to the expression of uncertainty in measurement."),
    Source("jcgm106", "JCGM 106:2012, Evaluation of measurement data: the role of measurement uncertainty in conformity "
           "assessment.", "examples recalled"),
    Source("ea402", "EA-4/02 M:2013, Evaluation of the uncertainty of measurement in calibration.", "examples recalled"),
    Source("greenwood1988", "K. W. Chase, W. H. Greenwood, Design issues in mechanical tolerance analysis, Manufacturing Review 1 "
           "(1988) 50-59.", "example recalled"),
    Source("drake1999", "P. J. Drake (ed.), Dimensioning and Tolerancing Handbook, McGraw-Hill 1999.",
           "the motor of ch. 9 recalled: its eleven sizes give the printed mean, worst case and root of squares"),
    Source("gate", "Questions of the Graduate Aptitude Test in Engineering on metrology, as public question banks print them.",
           "the plated pin recalled"),
    Source("narayana2006", "K. L. Narayana, P. Kannaiah, K. Venkata Reddy, Machine Drawing.",
           "fits and codes of ch. 15 as printed, but for the shaft of 50 mm: 49.95 to 49.975, where 49.05 and 49.075 stand"),
    Source("polini2007", "W. Polini, G. Moroni, on the position of a pattern of holes and the locators of its fixture, and "
           "A. Armillotta, G. Moroni, W. Polini, To analytically estimate the 3D position deviation of a holes pattern due to "
           "fixturing, Procedia CIRP 10 (2013) 186-193.", "the density of a hole's place behind three locators, as printed"),
    Source("howe1996", "R. D. Howe, M. R. Cutkosky, Practical force-motion models for sliding manipulation, "
           "International Journal of Robotics Research 15 (1996) 557-572."),
    Source("timoshenko1959", "S. P. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., "
           "McGraw-Hill, 1959."),
    Source("mindlin1949", "R. D. Mindlin, Compliance of elastic bodies in contact, Journal of Applied Mechanics 16 "
           "(1949) 259-268."),
    Source("westergaard1926", "H. M. Westergaard, Stresses in concrete pavements computed by theoretical analysis, Public Roads 7 (1926) "
           "25-35.", "recalled; its edge found again by our own solution of the plate (tests/holding/test_glue.py)"),
    Source("krenk1992", "S. Krenk, Energy release rate of symmetric adhesive joints, Engineering Fracture Mechanics 43 (1992) 549-559.",
           "recalled"),
    Source("hill1950", "R. Hill, The Mathematical Theory of Plasticity, Oxford, 1950: plane strain.", "recalled"),
    Source("iso13715", "ISO 13715, Edges of undefined shape: indication and dimensioning.", "recalled"),
    Source("johnson1985", "K. L. Johnson, Contact Mechanics, Cambridge University Press, 1985."),
    Source("gere2012", "J. M. Gere, B. J. Goodno, Mechanics of Materials, 8th ed., Cengage, 2012."),
    Source("shigley", "R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, McGraw-Hill: screws, fasteners.",
           "examples recalled"),
    Source("jointfriction", "A page of friction coefficients of bolted joints by material and treatment of the faces.", "seen"),
    Source("preloadscatter", "A paper on torque control of screws in Journal of Failure Analysis and Prevention 19 (2019): preload "
           "within 35 % as received, 25 % lubricated.", "seen"),
    Source("pinch1985", "V. Mathiowetz et al., Grip and pinch strength: normative data for adults, Archives of Physical "
           "Medicine and Rehabilitation 66 (1985) 69-74.", "recalled"),
    Source("warwick1980", "D. Warwick, G. Novak, A. Schultz, J. Berkson, Maximum voluntary strengths of male adults in some lifting, "
           "pushing and pulling activities, Ergonomics 23 (1980) 49-54.", "abstract seen; 29 men, 120 tasks"),
    Source("demeter2001", "E. C. De Meter et al., A model to predict minimum required clamp pre-loads in light of fixture-workpiece "
           "compliance, International Journal of Machine Tools and Manufacture 41 (2001) 1031-1054.", "abstract seen"),
    Source("frictionpairs", "An open textbook's appendix of friction at rest and sliding by pair of materials, clean and dry; hard steel from "
           "another such table.", "seen"),
    Source("hurtado1999", "J. F. Hurtado, S. N. Melkote, Workpiece-fixture static friction under dynamic loading, Wear 231 (1999) "
           "139-152.", "abstract seen"),
    Source("wentzell2004", "T. H. Wentzell, Machine Design, Delmar, 2004."),
    Source("petrie", "E. M. Petrie, Handbook of Adhesives and Sealants, McGraw-Hill."),
    Source("psashear2015", "Static and dynamic shear of acrylic foam tapes, master's thesis, Western Michigan University, 2015.",
           "abstract seen; no figures"),
    Source("stoney1909", "G. G. Stoney, The tension of metallic films deposited by electrolysis, "
           "Proceedings of the Royal Society A 82 (1909) 172-175."),
    Source("makercourse", "A tool maker's course on milling: overhang, deflection, orders of magnitude in drilling.", "seen"),
    Source("stacklecture", "A lecture on tolerance analysis of process plans: three sequences of a slotted block.",
           "seen through a mirror; inputs and verdicts are the lecture's, the sums follow from them"),
    Source("en10025", "EN 10025-2, Hot rolled products of structural steels.", "recalled"),
    Source("en10083", "EN 10083-2, Steels for quenching and tempering.", "recalled"),
    Source("en10088", "EN 10088-3, Stainless steels: bars and sections.", "recalled"),
    Source("en10277", "EN 10277, Bright steel products.", "recalled"),
    Source("en1993", "EN 1993-1-1, Design of steel structures (elastic constants).", "recalled"),
    Source("en755", "EN 755-2, Aluminium and aluminium alloys: extruded rod, bar, tube and profiles.", "recalled"),
    Source("en12163", "EN 12163, Copper and copper alloys: rod for general purposes.", "recalled"),
    Source("en12164", "EN 12164, Copper and copper alloys: rod for free machining purposes.", "recalled"),
    Source("iso185", "ISO 185, Grey cast irons: classification.", "recalled"),
    Source("iso9988", "ISO 9988, Plastics: polyoxymethylene moulding and extrusion materials.", "recalled"),
    Source("iso8257", "ISO 8257, Plastics: poly(methyl methacrylate) moulding and extrusion materials.", "recalled"),
    Source("woodhandbook", "Wood Handbook: Wood as an Engineering Material, Forest Products Laboratory.", "recalled"),
    Source("machinery", "Machinery's Handbook, Industrial Press: speeds for milling, drilling and reaming.", "recalled"),
    Source("shaw1957", "M. C. Shaw, C. J. Oxford, On the drilling of metals 2: the torque and thrust in drilling, "
           "Transactions of the ASME 79 (1957) 139-148.", "as tabulated in machinery, machining power"),
    Source("drillcatalogue", "Technical section of a drill maker's catalogue: thrust and torque of twist drills by material.",
           "seen; a formula, not measured"),
    Source("drillmaker", "Technical tips of drill makers: pilot a tenth wider than the web; holes of two to three "
           "diameters in one go.", "seen"),
    Source("toolcourse", "Course on drilling of a tool maker: a 10 mm drill at 0.3 mm a turn in steel.", "seen"),
    Source("drilldata", "A public repository of drilling criteria: thrust against diameter, feed and wear in cast iron, "
           "mild steel and copper.", "measured; no licence stated; torques suspect"),
    Source("boltbook", "J. H. Bickford, S. Nassar (eds.), Handbook of Bolts and Bolted Joints, Marcel Dekker, 1998.",
           "example seen in an abstract"),
    Source("fittercourse", "Course notes of a trade school for fitters: how much under size to drill for a reamer.",
           "seen; two charts agree"),
    Source("iso273", "ISO 273, Fasteners: clearance holes for bolts and screws.", "recalled"),
    Source("iso2768", "ISO 2768-1, General tolerances: linear and angular dimensions.", "recalled"),
    Source("tapmaker", "A tap maker's technical section, two catalogue years: tapping torque and its constants.", "seen; a formula, not measured"),
    Source("wax2018", "A university manufacturing test bed, 2018: 18 pieces of wax milled in a vise, moved or not.", "measured"),
    Source("jawtable", "A chuck maker's manual: design values of friction between jaw and workpiece.", "seen; design values"),
    Source("li2018", "J. Li, force calculation data, University of British Columbia, 2017-2018: dynamometer records of slots.", "measured; no licence stated; material inferred, not stated"),
    Source("size2025", "Tool-deflection data of a student project at a technical university, 2025: sizes of 109 milled parts.", "measured; no licence stated; speed, feed, material not stated"),
    Source("cortesi", "R. Cortesi, MiniMill stiffness summary: small machining centre, by analysis.", "seen; analysis, not measured"),
    Source("iso3408", "ISO 3408-3, Ball screws: acceptance conditions (travel by grade).", "recalled"),
    Source("iso1701", "ISO 1701, Test conditions for milling machines with table of variable height.", "recalled"),
    Source("colletslip", "A machine maker's technical document on tests of collets: pull at which a shank slides.", "seen; 600 to 3750 lbf by technique"),
    Source("vdi3323", "VDI 3323, groups of work materials with strength, k_c1.1 and m_c, as an insert maker's guide of 2022 prints them.", "seen; after ISO 513 too"),
    Source("iso15488", "ISO 15488, Collets with 8 degree setting angle for tool shanks.", "recalled"),
    Source("iso13385", "ISO 13385-1, Callipers: design and metrological characteristics.", "recalled"),
    Source("iso3611", "ISO 3611, Micrometers for external measurements.", "recalled"),
    Source("iso463", "ISO 463, Mechanical dial gauges.", "recalled"),
    Source("din875", "DIN 875-1, Steel squares 90 degrees.", "recalled"),
    Source("iso8512", "ISO 8512, Surface plates.", "recalled"),
    Source("liu2006", "X. Liu, R. E. DeVor, S. G. Kapoor, An analytical model for the prediction of minimum chip thickness in micromachining, J. Manufacturing Science and Engineering 128 (2006) 474-481.", "recalled"),
    Source("weule2001", "H. Weule, V. Huentrup, H. Tritschler, Micro-cutting of steel to meet new requirements in miniaturization, CIRP Annals 50 (2001) 61-64.", "recalled"),
    Source("joshi1988", "S. Joshi, T. C. Chang, Graph-based heuristics for recognition of machined features from a 3D solid model, Computer-Aided Design 20 (1988) 58-66.", "recalled"),
    Source("vandenbrande1993", "J. H. Vandenbrande, A. A. G. Requicha, Spatial reasoning for the automatic recognition of "
           "machinable features in solid models, IEEE Transactions on Pattern Analysis and Machine Intelligence 15 "
           "(1993) 1269-1285."),
    Source("cao2020", "W. Cao, T. Robinson, Y. Hua, F. Boussuge, A. R. Colligan, W. Pan, Graph representation of 3D CAD models "
           "for machining feature recognition with deep learning, ASME IDETC-CIE 2020, DETC2020-22355."),
    Source("loewen1954", "E. G. Loewen, M. C. Shaw, On the analysis of cutting-tool temperatures, Transactions of the ASME "
           "76 (1954) 217-231.", "recalled; re-derived and checked against its limits"),
    Source("carslaw1959", "H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford, 1959.", "recalled"),
    Source("boothroyd", "G. Boothroyd, W. A. Knight, Fundamentals of Machining and Machine Tools, 2nd ed., Marcel Dekker, "
           "1989.", "worked example recalled"),
    Source("incropera", "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, Wiley.", "recalled"),
    Source("trent2000", "E. M. Trent, P. K. Wright, Metal Cutting, 4th ed., Butterworth-Heinemann, 2000.", "recalled"),
    Source("gaugeplate", "A steel stockholder's table of temper colours, 210 to 330 degrees C.", "seen"),
    Source("taylor1907", "F. W. Taylor, On the art of cutting metals, Transactions of the ASME 28 (1907).", "recalled"),
    Source("iso8688", "ISO 8688-2, Tool life testing in milling: end milling.", "recalled"),
    Source("motorpage", "Technical page on motors of a fraction of a horsepower: 1/3 hp from 115 V, 6.6 A at a power factor of 0.62.",
           "seen; a catalogue and a sum"),
    Source("ashrae", "ASHRAE Handbook of Fundamentals, table of the heat gain from typical electric motors.", "recalled"),
    Source("agogino2007", "A. Agogino, K. Goebel, Milling data set, BEST lab, UC Berkeley, prognostics data repository, 2007."),
    Source("waldorf1999", "D. J. Waldorf, S. G. Kapoor, R. E. DeVor, Worn tool forces based on ploughing stresses, "
           "Transactions of NAMRI/SME 27 (1999).", "recalled"),
    Source("sikdar2002", "S. K. Sikdar, M. Chen, Relationship between tool flank wear area and component forces in single "
           "point turning, Journal of Materials Processing Technology 128 (2002) 210-215.", "seen: abstract"),
    Source("vickers1989", "G. W. Vickers, K. W. Quan, Ball-mills versus end-mills for curved surface machining, Journal of "
           "Engineering for Industry 111 (1989) 22-26.", "recalled"),
)

BIBLIOGRAPHY: dict[str, Source] = {entry.key: entry for entry in _ENTRIES}
