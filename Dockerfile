# One image for every process of the service; docker-compose.yml says which process a container is.
FROM python:3.13-slim

ENV PYTHONUNBUFFERED=1 \
    UV_LINK_MODE=copy \
    UV_NO_CACHE=1 \
    UV_COMPILE_BYTECODE=1 \
    UV_PYTHON_DOWNLOADS=never \
    PATH="/app/.venv/bin:$PATH"

RUN pip install --no-cache-dir "uv~=0.13.9"

WORKDIR /app

# The libraries first: this layer is kept while only our own code changes.
COPY pyproject.toml ./
RUN uv sync --no-dev

COPY . .

# The docs page's assets. The key is thrown away with this line: it signs nothing, and no process
# starts with it.
RUN SECRET_KEY="$(python -c 'import secrets; print(secrets.token_urlsafe(64))')" \
    python manage.py collectstatic --noinput

# Nothing under /app belongs to the account the service runs as, so nothing there can be rewritten.
RUN useradd --system --uid 10001 --home-dir /nonexistent --shell /usr/sbin/nologin rodtally
USER 10001

EXPOSE 8000
CMD ["gunicorn", "config.wsgi", "--bind", "0.0.0.0:8000", "--no-control-socket"]
