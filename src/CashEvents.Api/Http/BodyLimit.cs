namespace CashEvents.Api.Http;

/// <summary>
/// Refuses bodies that are too large, however they are sent. The server itself takes larger ones: were it to hang up in
/// the middle of one, its sender would never see the answer.
/// </summary>
internal sealed class BodyLimit(RequestDelegate next)
{
    /// <summary>Bytes of the largest body that is read.</summary>
    public const long Largest = 4 * 1024 * 1024;

    /// <summary>
    /// Bytes of the largest body whose sender is answered when all is sent; beyond, the server hangs up.
    /// </summary>
    public const long LargestTaken = 16 * Largest;

    public Task InvokeAsync(HttpContext context)
    {
        context.Request.Body = new Counted(context.Request.Body, context.Request.ContentLength);
        return next(context);
    }

    private sealed class Counted(Stream body, long? length) : Stream
    {
        private long _read;

        public override bool CanRead => true;

        public override bool CanSeek => false;

        public override bool CanWrite => false;

        public override long Length => throw new NotSupportedException();

        public override long Position
        {
            get => throw new NotSupportedException();
            set => throw new NotSupportedException();
        }

        public override async ValueTask<int> ReadAsync(Memory<byte> buffer,
            CancellationToken cancellationToken = default)
        {
            if (length > Largest || _read > Largest)
            {
                throw TooLarge();
            }

            try
            {
                var read = await body.ReadAsync(buffer, cancellationToken).ConfigureAwait(false);
                _read += read;
                return _read <= Largest ? read : throw TooLarge();
            }
            catch (IOException fault) when (fault.InnerException is OverflowException)
            {
                throw new BadHttpRequestException("The size of a chunk is no number of bytes.",
                    StatusCodes.Status400BadRequest, fault);
            }
            // Of gzip and deflate it is the first, of br the second.
            catch (Exception fault) when (fault is InvalidDataException or InvalidOperationException)
            {
                throw new BadHttpRequestException("The body is not of the coding that `Content-Encoding` names.",
                    StatusCodes.Status400BadRequest, fault);
            }
        }

        private static BadHttpRequestException TooLarge() => new("Too large.", StatusCodes.Status413PayloadTooLarge);

        public override Task<int> ReadAsync(byte[] buffer, int offset, int count,
            CancellationToken cancellationToken) =>
            ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

        public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

        public override void Flush()
        {
        }

        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

        public override void SetLength(long value) => throw new NotSupportedException();

        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    }
}
