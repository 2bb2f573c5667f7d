FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags='-s -w' -o /out/evenwhite ./server \
 && install -d -m 0700 /out/data

FROM gcr.io/distroless/static:nonroot
COPY --from=build /out/evenwhite /evenwhite
COPY --from=build --chown=nonroot:nonroot /out/data /data
USER nonroot
VOLUME /data
EXPOSE 8480
ENTRYPOINT ["/evenwhite"]
CMD ["serve", "--data", "/data", "--listen", "0.0.0.0:8480"]
