"""What is analysed: stackups, loops, planes, cross-sections and scenario files, as plain frozen data."""
