"""Published closed forms for inductance, resistance and field, one function each.

Every function names its source and its range of validity and raises ValueError outside that range. Lengths in
metres, frequency in hertz, conductivity in S/m, inductance in H/m, impedance in ohm/m (of rings and circles H
and ohm); phasors with time factor exp(+jwt). The package knows no mesh and imports nothing from the rest of the
solver, so it can stand as a second opinion on it.
"""

from solver.constants import EPSILON_0, ETA_0, MU_0, SPEED_OF_LIGHT
from solver.formulas.bars import Bar, bars_partial_inductance, bars_rectangle_inductance, rosa_bar_partial_inductance
from solver.formulas.cables import (
    board_cable_admittance,
    board_cable_current,
    board_cable_field,
    cable_input_impedance,
    resonant_cable_impedance,
)
from solver.formulas.circles import circle_axis_field, circle_field, coaxial_circles_mutual, helmholtz_pair_axis_field
from solver.formulas.coupled_microstrip import (
    coupled_microstrip_even_impedance,
    coupled_microstrip_even_permittivity,
    coupled_microstrip_odd_impedance,
    coupled_microstrip_odd_permittivity,
)
from solver.formulas.dipoles import (
    ELECTRIC_IMAGE,
    MAGNETIC_IMAGE,
    electric_dipole_largest_field,
    electric_dipole_tensor,
    magnetic_dipole_tensor,
)
from solver.formulas.discs import (
    disc_axis_field,
    disc_inductance_change,
    disc_shielding,
    hole_axis_field,
    hole_inductance_increase,
)
from solver.formulas.filaments import (
    filaments_partial_mutual,
    flat_rectangles_mutual,
    rectangle_over_plane_inductance,
    rectangle_surface_inductance,
    rectangle_uniform_inductance,
    round_bar_surface_partial_inductance,
    round_bar_uniform_partial_inductance,
    upright_rectangle_inductance,
)
from solver.formulas.microstrip import (
    hammerstad_jensen_effective_permittivity,
    hammerstad_jensen_impedance,
    hammerstad_jensen_inductance,
    thick_strip_inductance,
)
from solver.formulas.patches import (
    disc_capacitance,
    patch_dipole_area,
    patch_level_dipole_area,
    patch_stray_capacitance,
    strip_dipole_width,
)
from solver.formulas.planes import (
    finite_plane_flux_density,
    finite_plane_loop_inductance,
    finite_plane_return_density,
    infinite_plane_return_density,
    infinite_plane_return_share,
    net_plane_inductance,
    slot_inductance_increase,
    slotted_plane_inductance,
    strip_shielding,
)
from solver.formulas.radiation import (
    QUARTER_WAVE_RESISTANCE,
    driven_wire_admittance_bound,
    mean_wire_impedance,
    short_wire_far_field,
    small_loop_electric_field,
    small_loop_far_field,
    small_loop_magnetic_field,
    wire_far_field_bound,
)
from solver.formulas.rectangles import Rectangle, bars_dc_inductance, bars_dc_resistance, mean_log_distance
from solver.formulas.ringing import (
    damper_peak_impedance,
    damper_resistance,
    ring_inductance,
    ring_pair_capacitance,
    series_ring_damping,
    series_ring_overshoot,
    series_ring_voltage,
)
from solver.formulas.rings import (
    ring_dc_inductance,
    ring_dc_resistance,
    ring_over_plane_perfect_inductance,
    ring_perfect_inductance,
    ring_uniform_inductance,
)
from solver.formulas.round_wire import (
    coax_dc_inductance,
    coax_dc_resistance,
    coax_external_inductance,
    coax_impedance,
    coax_shell_impedance,
    wire_dc_internal_inductance,
    wire_dc_resistance,
    wire_internal_impedance,
)
from solver.formulas.sheets import (
    receding_image_speed,
    sheet_behind_line,
    sheet_behind_line_pair,
    sheet_behind_small_loop,
    sheet_corner_frequency,
)
from solver.formulas.skin import (
    diffusion_constant,
    sheet_impedance_both_sides,
    sheet_impedance_one_side,
    sheet_resistance,
    skin_depth,
    surface_resistance,
)
from solver.formulas.slabs import (
    circle_field_behind_slab,
    circle_slab_impedance,
    field_behind_slab,
    slab_excess_impedance,
)
from solver.formulas.split_planes import split_strip_shielding
from solver.formulas.strips import (
    coplanar_strips_inductance,
    coplanar_waveguide_inductance,
    coupled_stripline_even_inductance,
    coupled_stripline_odd_inductance,
    facing_strips_inductance,
    strip_over_plane_inductance,
    stripline_inductance,
)
from solver.formulas.tapes import tape_partial_inductance, tapes_partial_mutual
from solver.formulas.two_branch_ring import branch_capacitance, two_branch_capacitance, two_branch_inductance
from solver.formulas.vias import (
    ViaField,
    goldfarb_pucel_via_inductance,
    via_field,
    via_field_partial_matrix,
    via_field_plane_matrix,
    via_pair_inductance,
)
from solver.formulas.waveforms import damped_ring_harmonic, trapezoid_bound, trapezoid_harmonic
from solver.formulas.wire_pair import (
    filaments_over_plane_mutual,
    two_wires_impedance,
    two_wires_perfect_inductance,
    two_wires_perfect_resistance,
    two_wires_uniform_inductance,
    wire_over_plane_inductance,
)
