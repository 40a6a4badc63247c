"""Many independent computations: in processes side by side, and on the disk as soon as they are finished."""
