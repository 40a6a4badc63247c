"""Cross-sections: shapes, conductors, loops, rings, dielectrics, victims."""
