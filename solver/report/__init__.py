"""From a study to what a reader keeps: texts and tables, one HTML page, a folder of files."""
