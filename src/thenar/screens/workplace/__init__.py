"""What work does to hands: the hospital, an area, counting, controls, assessments, duties."""
