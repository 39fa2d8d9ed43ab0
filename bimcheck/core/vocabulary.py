"""Every column that stages deliver; rules declare their own beside their formula.

World coordinates are the file's engineering coordinates.  The panel frame: `n` outward normal of the front (weather)
face, `u` horizontal to the right of a viewer outside (u = z x n), `v = n x u` up; origin at the lower-left corner, seen
from outside, of the rectangle around the front face; the rear face lies at -thickness along n.
"""

from __future__ import annotations

from bimcheck.core.columns import Column

# name | unit | file name | unit in files | IFC measure | sentence
_PANELS_READ = """
guid|text|guid|||GlobalId of the element
step_id|count|step_id|||number of the entity in its file
name|text|name|||name given by the author
mark|text|mark|||piece mark (Tag, else Reference, else blank)
model|text|model|||file name of the model
model_index|count||||position of the model among the inputs
ifc_class|text|ifc_class|||IFC class
status|text|status|||panel, out_of_scope or unreadable
reason|text|reason||IfcLabel|why, beginning with a token; blank where there is nothing to say
storey|text|storey||IfcLabel|storey by containment, else by height
material_name|text|material_name|||material as the author named it
surface|text||||finish or colour where the author states one
raw_origin|mm||||(n, 3) a point of the front plane or its parallel face, world
raw_u|1||||(n, 3) first in-plane unit axis as read
raw_v|1||||(n, 3) second in-plane unit axis as read
raw_n|1||||(n, 3) normal as read (side not decided); raw_u x raw_v
raw_outline|ragged||||(k, 3) x, y in the raw axes, ring number (0 outline, 1.. cut-outs); plane at raw_origin
raw_outline_back|ragged||||the same for the face at raw_origin - thickness * raw_n where it differs, else empty
thickness|mm|thickness_mm|mm|IfcPositiveLengthMeasure|thickness normal to the face (least, where tapered)
thickness_max|mm|thickness_max_mm|mm||greatest thickness
form|text||||flat, curved, tapered, folded or profiled
sagitta|mm||||rise of a curved face over its chord
parent_guid|text||||GlobalId of the curtain wall or assembly it belongs to
placement|count||||number of its IfcLocalPlacement in the file, 0 where it has another or none
placed|mm||||(n, 12) rows of that placement's matrix, world: three direction cosines and the origin in mm
"""
_PANELS_RELATE = """
facade|text|facade||IfcLabel|facade it lies in
facade_index|count||||row of the facades table, -1 where none
place|text|place||IfcLabel|field, corner-return, reveal, parapet, inclined, soffit, recess or folded
side_known|flag||||outward side decided beyond doubt
origin|mm||||(n, 3) lower-left corner, seen from outside, of the rectangle around the front face
u|1||||(n, 3) horizontal axis in the face, to the right seen from outside
v|1||||(n, 3) up (up-slope) in the face
n|1||||(n, 3) outward normal
outline|ragged||||(k, 3) x, y from origin along u, v (seen from outside), ring number; outline counter-clockwise
width|mm|width_mm|mm|IfcPositiveLengthMeasure|extent along the horizontal of the panel plane
height|mm|height_mm|mm|IfcPositiveLengthMeasure|extent along the steepest line of the panel plane
corners|count||||corners of the outline
net_area|mm2|net_area_m2|m2|IfcAreaMeasure|front face less cut-outs
normal_x|1|normal_x|1||outward normal, x
normal_y|1|normal_y|1||outward normal, y
normal_z|1|normal_z|1||outward normal, z
z|mm|z_m|m|IfcLengthMeasure|centre above ground
z_bottom|mm||||lowest point above ground
z_top|mm||||highest point above ground
tilt|deg||||slope of the normal above the horizontal (0 vertical wall, -90 soffit)
s_left|mm||||from the left edge of the panel along the facade to the facade's left end
s_right|mm||||from the right edge of the panel along the facade to the facade's right end
corner_distance|mm|corner_distance_m|m|IfcLengthMeasure|nearest vertical edge to the nearest external corner of the facade
joint_left|mm|joint_left_mm|mm|IfcLengthMeasure|joint on the left, seen from outside; negative = overlap
joint_right|mm|joint_right_mm|mm|IfcLengthMeasure|joint on the right
joint_bottom|mm|joint_bottom_mm|mm|IfcLengthMeasure|joint below
joint_top|mm|joint_top_mm|mm|IfcLengthMeasure|joint above
lot|text||||lot for thickness compensation: as listed, else material and nominal thickness
shape|count||||row of the shapes table: unique outline under translation, turn and mirror
rails_y|ragged||||(k, 3) supports in reach behind: y of axis in the panel frame (mm), obstacle row, 1 rail 2 bracket
keep_out|ragged||||(k, 4) boxes x0, y0, x1, y1 in the panel frame that anchors must avoid (bodies in the drill and clip zone)
h_building|mm||||height of the building above ground
building_known|flag||||plan ring closed and ground stated
"""
_PANELS_MATERIAL = """
material|text|material||IfcLabel|material row of the project file
density|kg/m3||||density
E_mod|MPa||||modulus of elasticity
nu|1||||Poisson's ratio
alpha_T|1/K||||thermal expansion
eps_moisture|1||||moisture movement, strain
t_min|mm||||least thickness: nominal less tolerance, or measured; for strength
t_max|mm||||greatest thickness; for weight
f_k|MPa||||flexural strength, characteristic (or mean in the global-factor format), weaker direction
eta_flex|1||||product of conditioning factors on the flexural strength
gamma_flex|1||||partial (or global) factor on the flexural strength
gamma_anchor|1||||partial (or global) factor on anchor resistances
k_hole|1||||tested factor on the moment at the hole
material_index|count||||row of the material
face|text||||gauged, rough or polished-ungauged
measured|flag||||thickness measured, t_min and t_max are readings
t_off|mm||||by which a reading lies above (negative: below) the tolerance, nan where nothing was measured
t_code|mm||||code minimum thickness, 0 where none is set
natural_stone|flag||||natural stone: strength by condition must be known
assumed_material|text||||settings of the material that nobody stated
"""
_PANELS_ITEM = """
item|text|item||IfcLabel|catalogue item of the anchor
embedment|mm||||embedment of the undercut
hole_depth|mm||||depth of the drilled hole from its mouth on the rear face
counterbore|mm||||flat recess that strength counts with: least thickness less the lot's least, 0 where that is not measured
counterbore_set|mm||||flat recess as drilled, at the greatest thickness; nan where it is found on site by measured thickness
counterbore_most|mm||||greatest flat recess: as drilled, or what the tolerance allows
t_lot|mm||||least thickness of the lot where depth is set from the front face, nan elsewhere
drilling|text||||from which face depth is set, the recess and the set-up
hole_diameter|mm||||diameter of the drilled hole
undercut_radius|mm||||bearing radius r0 of the undercut
fastener|text||||bolt, or set-screw with nut
thread|text||||thread of bolt or set screw
bolt_length|mm||||length of the bolt or set screw
washer|mm||||elastic washer, compressed
edge_min_item|mm||||least edge distance of the item and of the tested series
spacing_min_item|mm||||least spacing of the item and of the tested series
hook_offset|mm||||from the bolt axis to the hook's load line, in the plane of the clip (a)
heel|mm||||from the bolt axis to the compression edge of the clip (b)
stand_off|mm||||from the rear face to the load line of the clip, bends the bolt
clip_wall|mm||||wall thickness of the clip
clip_contact|mm||||contact length of the clip on the panel
bolt_diameter|mm||||stress diameter of the bolt
bolt_strength|MPa||||design strength of the bolt
slot_length|mm||||way the clip may slide either way from where it is mounted; 0 where the item states none
residual_required|mm||||least material in front of the hole
hardware_reason|text||||why no item fits: dimension and amount; blank where one fits
"""
_FACADES = """
facade_name|text||||name of the facade
facade_n|1||||(m, 3) outward normal
facade_b|mm||||crosswind breadth for wind square to the facade
facade_d|mm||||depth along the wind for wind square to the facade
facade_length|mm||||length between its vertical ends
facade_left|text||||left end: external, re-entrant or free
facade_right|text||||right end
facade_kind|text||||outer, recess (U, L notch) or courtyard
facade_left_n|1||||(m, 3) outward normal of the facade beyond the left end, zeros where none
facade_right_n|1||||(m, 3) outward normal of the facade beyond the right end, zeros where none
least_plan|mm||||least horizontal dimension of the building
"""
_CANDIDATES = """
panel|count||||row of the panels table
layout|count||||row of the layouts table
n_anchors|count||||number of anchors
n_hang_layout|count||||anchors that carry weight in this layout
pattern|text||||name of the pattern, columns x rows
x_fixed|mm||||position along u of the fixed anchor, one of the two that carry weight
y_fixed|mm||||position along v of the fixed anchor
x_sliding|mm||||position along u of the anchor that carries the rest of the weight and slides along u
"""
_LAYOUTS = """
shape_row|count||||row of the shapes table
m_support|mm2||||governing anchor moment per unit pressure at the design radius, rigid and elastic envelope
m_field|mm2||||greatest field moment per unit pressure
m_corner|mm2||||greatest moment at re-entrant corners per unit pressure, t / 2 from them; 0 where there are none
m_plate|mm2||||governing moment per unit pressure
share_most|mm2||||greatest reaction of any anchor per unit pressure, envelope of rigid and elastic supports
w_unit|mm4||||greatest deflection per unit pressure over D, elastic supports
w_span|mm4||||greatest deflection relative to adjacent anchors per unit pressure over D
span|mm||||greatest spacing of adjacent anchors
overhang|mm||||greatest distance from an anchor to the outline beyond the anchors
m_support_lost|mm2||||governing moment with one anchor ineffective
m_support_moved|1/mm2||||greatest anchor moment per D by a unit out-of-plane error at any one anchor, on springs; nan where no misfit is set
m_field_moved|1/mm2||||greatest field moment by the same
layout_flags|text||||out-of-range flags: radius beyond the edge, re-entrant corner
"""
_ANCHORS = """
candidate|count||||row of the candidates table
slot|count|anchor|||number of the anchor in its panel: A1, A2 ... by row from below, left to right seen from the rear
x|mm||||position along u seen from outside
y|mm||||position along v
share|mm2||||reaction per unit pressure, envelope of rigid and elastic supports, greatest
share_min|mm2||||the same, least (may be negative)
share_lost|mm2||||greatest reaction per unit pressure with one anchor ineffective
share_moved|1/mm2||||greatest force per D by a unit out-of-plane error at any one anchor, on springs; nan where no misfit is set
tributary|mm2||||tributary area
edge|mm|edge_mm|mm||distance to the nearest edge of outline or cut-out
spacing|mm||||distance to the nearest other anchor
role|text|role|||fixed, sliding or free
hangs|flag||||carries weight
y_lever|mm||||vertical distance between hanging anchors and the lowest row
n_hang|count||||anchors that carry weight in this layout
"""
_JOINTS = """
panel|count||||row of the panels table
other|count||||row of the panels table of the neighbour, -1 where it is out of scope
side|text||||left, right, bottom or top
gap|mm||||least joint width along the shared length; negative = overlap
overlap_length|mm||||shared length
step|mm||||step out of plane between the faces
"""
_OBSTACLES = """
guid|text||||GlobalId
step_id|count||||number of the entity in its file
name|text||||name
model|text||||file name
ifc_class|text||||IFC class
material_name|text||||material
role|text||||rail, bracket, member, frame, slab, wall, service, fastener, opening, kept (an anchor of the author's that is kept) or ignored
box|mm||||(n, 6) least and greatest x, y, z, world
triangles|ragged||||(k, 9) triangles of the body, world
"""
_AXES = """
tag|text||||name of the grid axis
x0|mm||||start of the axis in plan, world
y0|mm||||start
x1|mm||||end
y1|mm||||end
"""
_SELECTED = """
pattern_selected|text|pattern||IfcLabel|selected pattern, columns x rows
n_anchors_selected|count|n_anchors||IfcCountMeasure|anchors of the selected layout
candidate|count||||row of the candidates table, -1 where no layout fits
u_layout|1||||greatest utilisation that the layout was selected by; nan where a check cannot be computed
kept|flag||||anchors stand where they were given, nothing was chosen
layout_reason|text||||why no layout is looked for; blank where one is
way_out|text||||computed changes that would make the panel pass
way_out_pattern|text||||more anchors than permitted with which it would pass
way_out_thickness|1||||factor on the least thickness with which it would pass
way_out_strength|1||||factor on the flexural strength with which it would pass
way_out_anchors|1||||factor on the anchor resistance with which it would pass
way_out_size|1||||factor by which the sides would have to be divided
"""
_PLACED = """
wx|mm|wx_m|m||centre of the hole's mouth on the rear face, world x
wy|mm|wy_m|m||world y
wz|mm|wz_m|m||world z
x_rear|mm|x_rear_mm|mm||from the lower-left corner of the bounding rectangle seen from the rear
support|count||||row of the obstacles table that carries the anchor, -1 where nothing is in reach
"""
_RESULT = """
governing_check|text|governing_check||IfcLabel|check with the greatest utilisation
utilisation|1|utilisation|1|IfcReal|greatest utilisation of the checks; passes up to 1
result|text|result||IfcLabel|pass, fail or not_checked
m_combination|text|moment_combination||IfcLabel|combination of the greatest moment of the plate
m_place|text|moment_place|||where that moment stands: anchor, field or corner
"""


def _rows(block: str, table: str, phase: str) -> list[Column]:
    columns = []
    for line in block.strip().splitlines():
        name, unit, file, file_unit, measure, sentence = line.split("|")
        columns.append(Column(name, unit, sentence, table, phase, file, file_unit, measure))
    return columns


STAGE_COLUMNS: tuple[Column, ...] = (
    *_rows(_PANELS_READ + _PANELS_RELATE.lstrip() + _PANELS_MATERIAL.lstrip() + _PANELS_ITEM.lstrip(), "panels", "panels"),
    *_rows(_FACADES, "facades", "panels"),
    *_rows(_CANDIDATES, "candidates", "wave"),
    *_rows(_LAYOUTS, "layouts", "wave"),
    *_rows(_ANCHORS, "anchors", "wave"),
    *_rows(_JOINTS, "joints", "joints"),
    *_rows(_OBSTACLES, "obstacles", "panels"),
    *_rows(_AXES, "axes", "panels"),
    *_rows(_SELECTED, "panels", "selected"),
    *_rows(_PLACED, "anchors", "selected"),
    *_rows(_RESULT, "panels", "result"),
)
