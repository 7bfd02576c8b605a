"""From conductors and layers to a tetrahedral mesh of the half-space."""

from .plan import MeshPlan, mesh_plan
from .refining import refined_plan
from .saving import check_mesh_path, save_mesh
from .watching import build_mesh

__all__ = [
    "MeshPlan",
    "build_mesh",
    "check_mesh_path",
    "mesh_plan",
    "refined_plan",
    "save_mesh",
]
