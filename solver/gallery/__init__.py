"""The gallery: built-in studies, each with its picture and what it says of a rule of the trade."""

from solver.gallery.page import gallery_page, prepare_folder, studies_named, write_gallery
from solver.gallery.run import run_gallery
from solver.gallery.studies import STUDIES, Finding, GalleryStudy

__all__ = [
    "STUDIES",
    "Finding",
    "GalleryStudy",
    "gallery_page",
    "prepare_folder",
    "run_gallery",
    "studies_named",
    "write_gallery",
]
