"""To come."""
from fastapi import APIRouter

router = APIRouter()
