# Builds and runs Secondcut on Debian 12. Everything that the service needs is
# in the image; nothing is downloaded when it runs.
FROM golang:1.26-bookworm AS build
RUN apt-get update && apt-get install -y --no-install-recommends \
      libopencv-core-dev libopencv-imgproc-dev libopencv-dnn-dev libopencv-contrib-dev libturbojpeg0-dev \
    && rm -rf /var/lib/apt/lists/*
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN go build -trimpath -o /out/secondcut ./cmd/secondcut

FROM debian:bookworm-slim
RUN apt-get update && apt-get install -y --no-install-recommends \
      libopencv-core406 libopencv-imgproc406 libopencv-dnn406 libopencv-contrib406 libturbojpeg0 \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --system --uid 10001 --home-dir /data secondcut \
    && install -d -o secondcut -g secondcut -m 0700 /data
COPY --from=build /out/secondcut /usr/local/bin/secondcut
COPY --from=build /src/testdata/demo /usr/local/share/secondcut/demo
COPY --from=build /src/testdata/garments/lamplighter-smock.json /usr/local/share/secondcut/garments/
USER secondcut
VOLUME /data
EXPOSE 8080
# Inside the container the service listens to all; what may reach it is said
# where the port is published (docker-compose.yml: this machine only).
ENTRYPOINT ["secondcut"]
CMD ["serve", "--container", "--addr", "0.0.0.0:8080", "--data", "/data", "--demo", "/usr/local/share/secondcut/demo"]
