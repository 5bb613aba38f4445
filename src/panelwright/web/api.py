"""The JSON interface; grows below."""

from fastapi import APIRouter

router = APIRouter(prefix="/api", tags=["repairs"])
